import type { EdgeState } from '#adapters/ports/edge.ts';
import type { RejectReason } from '#adapters/ports/observation.ts';

/** Every reason, so that a missing one does not compile. */
const reasons: Record<RejectReason, true> = {
  too_long: true,
  not_text: true,
  partial: true,
  no_line_end: true,
  malformed: true,
  not_finite: true,
  unknown_channel: true,
  too_many: true,
  waited_undated: true,
};

/** What the broker inside does not hand on or keep. */
const atTheBroker = ['too_large', 'refused_publish', 'unreleased_refused', 'waiting_dropped', 'retained_dropped'];

/**
 * What came in and was dropped at an edge, by cause, over all edges.
 *
 * Is: every single one, as the edges count them. The log and what the page tells of them hear of a bounded number a second only,
 * so a flood would look like a trickle there.
 */
export function droppedAtEdges(edges: readonly EdgeState[]): Record<string, number> {
  const sums: Record<string, number> = {};
  for (const { name, counts } of edges) {
    const causes = name === 'broker' ? atTheBroker : Object.keys(reasons);
    for (const cause of causes) {
      const count = counts[cause] ?? 0;
      if (count > 0) sums[cause] = (sums[cause] ?? 0) + count;
    }
  }
  return sums;
}
