import { computed, effect, signal } from '@preact/signals';
import type { NowAnswer } from '../../../api/now.ts';
import { askRoute } from '../kit/ask.ts';
import { recall, remember } from '../kit/remembered.ts';
import { isConnected, room } from '../room/room-signals.ts';

export type Deed = NowAnswer['deeds'][number];

/** What there is to do, over all tanks; undefined until the hub has told it. */
export const todo = signal<NowAnswer | undefined>(undefined);

const memory = 'last-now';

async function fetchNow(): Promise<void> {
  const outcome = await askRoute('GET /api/now', {});
  if (outcome.ok) {
    todo.value = outcome.body;
    remember(memory, JSON.stringify(outcome.body));
    return;
  }
  // What was known stays; the page says by itself that the hub does not answer.
  if (outcome.problem.status === 0) todo.value ??= keptList();
}

function keptList(): NowAnswer | undefined {
  try {
    return JSON.parse(recall(memory) ?? '') as NowAnswer;
  } catch {
    return undefined;
  }
}

/** Deeds with a clock that runs: shown on every page. */
export const clocks = computed(() => todo.value?.deeds.filter(({ clock }) => clock !== undefined) ?? []);

/** What there is to do about one arrival, the most urgent first. */
export function deedsOf(arrival: string): Deed[] {
  return (todo.value?.deeds ?? []).filter(({ act }) => 'arrival' in act && act.arrival === arrival);
}

/** When the room was read from the hub: readings that come in between change nothing here. */
const readAt = computed(() => room.value?.time);

/**
 * Asks whenever the room was read again, so that the list and the rows below it are of one moment.
 *
 * @returns when the first answer is here
 */
export function followNow(): Promise<void> {
  const first = fetchNow();
  let isFirst = true;
  effect(() => {
    const isKnown = readAt.value !== undefined;
    void isConnected.value;
    if (isFirst || !isKnown) {
      isFirst = false;
      return;
    }
    void fetchNow();
  });
  return first;
}

export function askAgain(): void {
  void fetchNow();
}
