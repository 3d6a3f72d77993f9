import { expect, test } from 'vitest';
import { isContainerLow } from '#rules/verdicts/container-low.ts';
import { valueState } from '#rules/verdicts/value-state.ts';

const band = { low: 7, high: 9 };

test.each([
  [{ value: 8, flag: 'pass', band, isSilent: true }, 'stale'],
  [{ value: 8, flag: 'suspect', band, isSilent: false }, 'doubtful'],
  [{ value: null, flag: 'fail', band, isSilent: false }, 'doubtful'],
  [{ value: 8, flag: 'not_evaluated', band: null, isSilent: false }, 'unbanded'],
  [{ value: 7, flag: 'pass', band, isSilent: false }, 'inside'],
  [{ value: 9.01, flag: 'pass', band, isSilent: false }, 'outside'],
])('%j is shown as something else than %s', (given, state) => {
  expect(valueState(given)).toBe(state);
});

test('a container that nothing is taken from is called low, or one on its last days is not', () => {
  expect(isContainerLow(null, 5)).toBe(false);
  expect(isContainerLow(5, 5)).toBe(false);
  expect(isContainerLow(4.9, 5)).toBe(true);
});
