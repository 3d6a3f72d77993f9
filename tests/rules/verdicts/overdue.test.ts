import { expect, test } from 'vitest';
import { isOverdue } from '#rules/verdicts/overdue.ts';
import { dayMs, mondayMs } from '../bands/script.ts';

test('a test is overdue before its last day has passed, or one that was never made is', () => {
  expect(isOverdue(undefined, 7, mondayMs)).toBeUndefined();
  expect(isOverdue(mondayMs, 7, mondayMs + 7 * dayMs)).toBe(false);
  expect(isOverdue(mondayMs, 7, mondayMs + 7 * dayMs + 1)).toBe(true);
});
