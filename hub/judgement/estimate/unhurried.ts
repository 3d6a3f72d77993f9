import { setTimeout as pause } from 'node:timers/promises';

/** No part rests longer than this, however long it took. */
const longestRestMs = 250;

let before: Promise<unknown> = Promise.resolve();

/**
 * One part of long work for which nobody waits by the second. All such work takes turns, part by part, and after each part comes a
 * rest as long as the part took: readings, alarms and the page get at least half of the processor, however many ask at once.
 *
 * @param part  at most some tenths of a second; what it throws is thrown to who asked
 */
export function unhurried<Result>(part: () => Result): Promise<Result> {
  const mine = before.then(async () => {
    const begunMs = performance.now();
    try {
      return part();
    } finally {
      await pause(Math.min(longestRestMs, performance.now() - begunMs));
    }
  });
  before = mine.catch(() => undefined);
  return mine;
}
