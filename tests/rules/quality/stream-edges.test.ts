import { describe, expect, test } from 'vitest';
import { rateOfChangeFlag } from '#rules/quality/rate-of-change.ts';
import type { Quality } from '#rules/quality/reading.ts';
import { spikeFlag } from '#rules/quality/spike.ts';
import { checkReading, emptyStreamState, type StreamChecks } from '#rules/quality/stream-check.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

/** The last of the qualities of values that come a minute apart, or at the times that are given. */
function lastOf(checks: StreamChecks, values: readonly number[], times?: readonly number[]): Quality | undefined {
  const state = emptyStreamState();
  return values.map((value, at) => checkReading(checks, state, value, times?.[at] ?? at * minuteMs)).at(-1);
}

describe('at the very limit', () => {
  test('a change at the limit of its rate, or a step of the height of a spike, is doubted', () => {
    expect(rateOfChangeFlag(0.5, minuteMs, 0.5)).toBe('pass');
    expect(rateOfChangeFlag(-0.5, minuteMs, 0.5)).toBe('pass');
    expect(spikeFlag(30, [25, 25, 25], 5)).toBe('pass');
    expect(spikeFlag(30.1, [25, 25, 25], 5)).toBe('suspect');
    // Two values make no median.
    expect(spikeFlag(99, [25, 25], 5)).toBe('not_evaluated');
  });

  test('a pause of just the gap forgets what came before, or a longer one does not', () => {
    const checks: StreamChecks = { mostPerMinute: 0.1, gapMinutes: 30 };
    // 3 in 30 minutes is at the limit, 4 is beyond it; after the gap nothing is known of the step.
    expect(lastOf(checks, [25, 29], [0, 30 * minuteMs])?.flag).toBe('suspect');
    expect(lastOf(checks, [25, 29], [0, 31 * minuteMs])?.flag).toBe('pass');
    // A clock that is set back by no more than the gap gives a late reading, which is held against its range alone.
    expect(lastOf(checks, [25, 29], [0, -30 * minuteMs])?.flag).toBe('pass');
    // The next is late as well, and is not held against the late one.
    expect(lastOf(checks, [25, 29, 25.1], [0, -30 * minuteMs, -minuteMs])?.flag).toBe('pass');
  });
});

describe('a reading that is late or comes twice', () => {
  const checks: StreamChecks = { suspectAbove: 40, mostPerMinute: 0.5, gapMinutes: 30 };

  test('is believed though no reef lives in it', () => {
    expect(lastOf(checks, [25, 41], [0, -minuteMs])).toEqual(expect.objectContaining({ flag: 'suspect', value: 41 }));
    expect(lastOf(checks, [25, 41], [0, 0])?.flag).toBe('suspect');
    expect(lastOf(checks, [25, 39], [0, 0])).toEqual({ flag: 'pass', value: 39 });
  });

  test('takes the place of the last one, so that the next is called a jump', () => {
    expect(lastOf(checks, [25, 39, 25.1], [0, -minuteMs, minuteMs])?.flag).toBe('pass');
    expect(lastOf(checks, [25, 39, 25.1], [0, 0, minuteMs])?.flag).toBe('pass');
  });
});

describe('a probe that gives one number for ever', () => {
  const checks: StreamChecks = { flatSuspectHours: 2, flatFailHours: 4, flatWithin: 0.01, gapMinutes: 30 };
  const flags = (values: readonly number[], everyMs: number) => {
    const state = emptyStreamState();
    return values.map((value, at) => checkReading(checks, state, value, at * everyMs));
  };

  test('is believed after it failed, or fails before its time', () => {
    const held = flags(Array(25).fill(8.2), 10 * minuteMs);
    expect(held.map(({ flag }) => flag)).toEqual([
      ...Array(12).fill('pass'),
      ...Array(12).fill('suspect'),
      ...Array(1).fill('fail'),
    ]);
    expect(held.at(-1)).toEqual({ flag: 'fail', raw: 8.2, why: expect.stringMatching(/same value/) });
    expect(held.at(-2)).toEqual({ flag: 'suspect', value: 8.2, why: expect.stringMatching(/same value/) });
  });

  test('stays stuck once it moves, or is freed by a pause of the stream alone', () => {
    expect(flags([...Array(30).fill(8.2), 8.3], 10 * minuteMs).at(-1)).toEqual({ flag: 'pass', value: 8.3 });
    const state = emptyStreamState();
    for (let at = 0; at < 30; at += 1) checkReading(checks, state, 8.2, at * 10 * minuteMs);
    expect(checkReading(checks, state, 8.2, 300 * minuteMs + hourMs)).toEqual({ flag: 'pass', value: 8.2 });
  });

  test('that is never said to be stuck is', () => {
    const { flatSuspectHours: _none, flatFailHours: _never, ...loose } = checks;
    expect(lastOf(loose, Array(2000).fill(8.2))).toEqual({ flag: 'pass', value: 8.2 });
  });
});

test('a stream that runs for a year fills the memory of the hub with its past', () => {
  const state = emptyStreamState();
  const checks: StreamChecks = { spike: 0.5, gapMinutes: 30 };
  for (let at = 0; at < 1000; at += 1) checkReading(checks, state, 25 + (at % 7) / 10, at * minuteMs);
  expect([state.recent.length, state.recentMs.length]).toEqual([5, 5]);
});

describe('what is said about a doubtful value', () => {
  const checks: StreamChecks = {
    spike: 0.5,
    movesPerMinute: 0.01,
    mostPerMinute: 1,
    suspectAbove: 40,
    failAbove: 60,
    gapMinutes: 30,
  };

  test('names another reason than the one that holds, or another number than the water had', () => {
    expect(lastOf(checks, [25.1234, 25.1234, 25.1234, 25.1234, 26])).toEqual({
      flag: 'suspect',
      value: 26,
      why: 'a jump from 25.123',
    });
    // Two values make no median: the reading before it is what it jumped from.
    expect(lastOf(checks, [25.1236, 27])).toEqual({ flag: 'suspect', value: 27, why: 'a jump from 25.124' });
    expect(lastOf(checks, [25, 41])).toEqual({ flag: 'suspect', value: 41, why: expect.stringMatching(/reef tank/) });
    expect(lastOf(checks, [61])).toEqual({ flag: 'fail', raw: 61, why: expect.stringMatching(/probe or the water/) });
  });
});

describe('water that moves', () => {
  /** Readings ten minutes apart, far from 1970: the age of the median counts, and not the time of day. */
  const checks: StreamChecks = { spike: 0.5, movesPerMinute: 0.05, gapMinutes: 60 };
  const start = Date.UTC(2026, 5, 1);
  const rising = (step: number, count: number) => {
    const state = emptyStreamState();
    return Array.from(
      { length: count },
      (_, at) => checkReading(checks, state, 25 + step * at, start + at * 10 * minuteMs).flag,
    );
  };

  test('is called a spike while it rises as water does, or believed when it rises faster', () => {
    // 0.5 for each 10 minutes is the allowance itself, on top of the height of a spike.
    expect(rising(0.5, 20)).toEqual(Array(20).fill('pass'));
    // The median of five is 30 minutes old when the sixth comes: 1.5 allowed to move, 0.5 for a spike, 2.7 found.
    const steep = rising(0.9, 8);
    expect(steep.slice(0, 3)).toEqual(Array(3).fill('pass'));
    expect(steep.at(-1)).toBe('suspect');
    // At three times as far as allowed nothing passes but what has no median yet: 20 minutes old, 1.0 + 0.5 against 1.6.
    expect(rising(0.8, 4)[3]).toBe('suspect');
    expect(rising(0.7, 4)[3]).toBe('pass');
    // Three of five: 1.5 + 0.5 against 2.1, and against 1.8.
    expect(rising(0.7, 6)[5]).toBe('suspect');
    expect(rising(0.6, 6)[5]).toBe('pass');
  });

  test('the last five are not the last five, so that an old value outvotes the new', () => {
    const still: StreamChecks = { spike: 0.5, gapMinutes: 60 };
    // A true step is believed from its third value on, and the way back is a step again.
    const state = emptyStreamState();
    const flags = [...Array(7).fill(25), ...Array(5).fill(27), 25].map(
      (value, at) => checkReading(still, state, value, at * minuteMs).flag,
    );
    expect(flags.slice(7)).toEqual(['suspect', 'suspect', 'suspect', 'pass', 'pass', 'suspect']);
  });
});

test('a good value after a doubtful one is blamed for its distance, or one after a good value is not', () => {
  const checks: StreamChecks = { mostPerMinute: 0.5, gapMinutes: 30 };
  const flags = (values: number[], times?: number[]) => {
    const state = emptyStreamState();
    return values.map((value, at) => checkReading(checks, state, value, times?.[at] ?? at * minuteMs).flag);
  };
  expect(flags([25, 27, 25, 27])).toEqual(['pass', 'suspect', 'pass', 'suspect']);
  // After a pause the doubt is over with all else.
  expect(flags([25, 27, 25, 27], [0, minuteMs, 120 * minuteMs, 121 * minuteMs])).toEqual([
    'pass',
    'suspect',
    'pass',
    'suspect',
  ]);
});
