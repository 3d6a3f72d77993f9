import { expect, test } from 'vitest';
import { linesOf } from '../../../hub/web/src/log/log-lines.ts';
import type { Logged } from '../../../hub/web/src/log/logged.ts';

const dayMs = 86_400_000;
const startMs = Date.parse('2026-03-02T23:30:00Z');
const dose = (id: number, timeMs: number, ml: number, by = 'pump'): Logged =>
  ({ id, kind: 'dose', system: 'display', timeMs, body: { stock: 'soda', ml, by } }) as Logged;
const idsOf = (entries: Logged[]) => linesOf(entries, 'Europe/Lisbon').map((line) => line.entries.map(({ id }) => id));

test('what a pump gave each hour buries what a person did', () => {
  const pumped = [5, 4, 3, 2].map((id) => dose(id, startMs + id * 60_000, 1.5));
  const byHand = dose(9, startMs + 3.5 * 60_000, 20, 'Ines');
  expect(idsOf([...pumped.slice(0, 2), byHand, ...pumped.slice(2)])).toEqual([[5, 4, 3, 2], [9]]);
});

test('two doses, doses of two amounts or of two days are one line', () => {
  expect(idsOf([dose(2, startMs + 1, 1.5), dose(1, startMs, 1.5)])).toEqual([[2], [1]]);
  expect(idsOf([3, 2, 1].map((id) => dose(id, startMs + id, id)))).toEqual([[3], [2], [1]]);
  expect(idsOf([3, 2, 1].map((id) => dose(id, startMs + id * dayMs, 1.5)))).toEqual([[3], [2], [1]]);
  // Lisbon has UTC in March: the last half hour of a day and the first of the next.
  expect(idsOf([4, 3, 2, 1].map((id) => dose(id, startMs + id * 900_000, 1.5)))).toEqual([[4, 3, 2], [1]]);
});
