import { expect, test } from 'vitest';
import type { AlarmKind } from '#rules/bands/kinds/kind.ts';
import { kinds, otherAlarms, slotNames, slots } from '#rules/bands/kinds/list.ts';

const all: readonly AlarmKind[] = kinds;

test('two kinds share a place in what is stored of a stream, or one leaves a place empty', () => {
  expect(Object.values(slots).sort((a, b) => a - b)).toEqual(slotNames.map((_, place) => place));
});

test('two alarms share a name, and one of them is never judged', () => {
  const names = all.flatMap(({ onStream, elsewhere }) => [...Object.keys(onStream), ...Object.keys(elsewhere)]);
  expect(new Set(names).size).toBe(names.length);
  expect(Object.keys(otherAlarms).length + slotNames.length).toBe(names.length);
});

test('a kind does not say what it means, or what to look at first', () => {
  for (const { id, means, firstLook } of all) {
    expect(means, id).toMatch(/^[A-Z].{20,}\.$/s);
    expect(firstLook, id).toMatch(/^.{15,}[.?]$/s);
  }
});
