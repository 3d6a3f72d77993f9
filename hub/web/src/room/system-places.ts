import { signal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { SystemView } from '../../../http/room-view.ts';
import { urgency } from './foresight.ts';
import { nowMs } from './room-state.ts';

/** Follows a width of the screen. */
function follow(query: string) {
  const list = matchMedia(query);
  const held = signal(list.matches);
  list.addEventListener('change', () => {
    held.value = list.matches;
  });
  return held;
}

/** As in `style/rows.css`, where a row stands below its words. */
export const isPhone = follow('(max-width: 620px)');
/** Whole systems stand one below the other; on a wall all are seen at once and each keeps its place. */
const isStacked = follow('(max-width: 1200px)');

/** Nobody is about to tap any more. */
const restMs = 20_000;
let touchedMs = Number.NEGATIVE_INFINITY;
for (const kind of ['pointerdown', 'keydown', 'wheel', 'touchmove'] as const)
  addEventListener(
    kind,
    () => {
      touchedMs = performance.now();
    },
    { passive: true, capture: true },
  );

/**
 * Where each whole system stands: the worst first where they stand below each other, else as configured. A card must not run
 * away from the finger: the places stay while somebody taps, types or scrolls.
 */
export function usePlaces(systems: readonly SystemView[]): SystemView[] {
  const held = useRef<{ ids: string; isStacked: boolean; order: string[] } | undefined>(undefined);
  const now = nowMs.value;
  const stacked = isStacked.value;
  const ids = systems.map(({ id }) => id).join('\n');
  const isTyping = document.activeElement?.closest('form') != null;
  const isResting = performance.now() - touchedMs > restMs && !isTyping;
  if (held.current?.ids !== ids || held.current.isStacked !== stacked || isResting) {
    const ordered = stacked ? systems.toSorted((a, b) => urgency(a, now) - urgency(b, now)) : systems;
    held.current = { ids, isStacked: stacked, order: ordered.map(({ id }) => id) };
  }
  const { order } = held.current;
  return systems.toSorted((a, b) => order.indexOf(a.id) - order.indexOf(b.id));
}
