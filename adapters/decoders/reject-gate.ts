import type { Clock } from '../ports/edge.ts';
import type { ObservationSink, RejectReason } from '../ports/observation.ts';
import { refusal } from './decoder.ts';

/** So many refusals a second reach the sink from one edge. */
const mostRejectsPerSecond = 20;

/** Zero for every reason of the list, so that a health page shows what has not happened too. */
export function emptyRejectCounts(): Record<RejectReason, number> {
  return {
    too_long: 0,
    not_text: 0,
    partial: 0,
    no_line_end: 0,
    malformed: 0,
    not_finite: 0,
    unknown_channel: 0,
    too_many: 0,
    waited_undated: 0,
  };
}

/**
 * Counts every refusal and hands on a bounded number: a probe at the wrong speed sends hundreds of broken lines a second
 * for weeks. At the limit the refusal is counted in `counts` all the same, and the sink does not hear of it.
 */
export function createRejectGate(sink: ObservationSink, clock: Clock, counts: Record<string, number>) {
  let windowStartMs = Number.NEGATIVE_INFINITY;
  let passedInWindow = 0;
  return function reject(source: string, reason: RejectReason, found: string): void {
    counts[reason] = (counts[reason] ?? 0) + 1;
    const nowMs = clock.monotonicMs();
    if (nowMs - windowStartMs >= 1000) {
      windowStartMs = nowMs;
      passedInWindow = 0;
    }
    if (passedInWindow >= mostRejectsPerSecond) return;
    passedInWindow += 1;
    sink.reject({ source, ...refusal(reason, found), receivedMs: clock.nowMs() });
  };
}
