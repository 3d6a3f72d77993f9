import { dateIn } from '../kit/times.ts';
import type { Logged } from './logged.ts';

/** A line of the log: one entry, or the doses of one stock of one day that a pump or a person repeated. */
export type LogLine = { day: string; entries: readonly [Logged, ...Logged[]] };

/** So many equal doses of a day are one line: what a pump gives would bury what a person did. */
const fewestRepeated = 3;

function groupOf({ id, kind, system, timeMs, body }: Logged, zone: string): string {
  if (kind !== 'dose') return `entry ${id}`;
  const { stock, ml, substance, grams, by } = body;
  return JSON.stringify([dateIn(timeMs, zone), system, stock, ml, substance, grams, by]);
}

/**
 * The lines of a log.
 *
 * @param entries  newest first
 * @returns the newest first, a repeated dose where the last of its day stands
 */
export function linesOf(entries: readonly Logged[], zone: string): LogLine[] {
  const groups = new Map<string, Logged[]>();
  for (const entry of entries) {
    const key = groupOf(entry, zone);
    groups.set(key, [...(groups.get(key) ?? []), entry]);
  }
  const lines = [...groups.values()].flatMap((group) =>
    group.length < fewestRepeated ? group.map((entry) => [entry]) : [group],
  );
  return lines
    .flatMap(([first, ...more]): LogLine[] =>
      first === undefined ? [] : [{ day: dateIn(first.timeMs, zone), entries: [first, ...more] }],
    )
    .toSorted((a, b) => b.entries[0].timeMs - a.entries[0].timeMs || b.entries[0].id - a.entries[0].id);
}
