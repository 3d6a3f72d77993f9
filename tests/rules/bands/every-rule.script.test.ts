import { describe, expect, test } from 'vitest';
import { alarmsOf } from '#rules/bands/room.ts';
import { dayMs, hourMs, minuteMs, mondayMs, run, transitions } from './script.ts';

/** Values that move as a living probe does, so that nothing is stuck: around one value, for so many minutes. */
function alive(value: number, minutes: number, step = 0.01): string {
  return Array.from({ length: minutes }, (_, i) => (value + step * ((i * 7) % 3)).toFixed(3)).join(' ');
}

describe('rate', () => {
  const bands = { temperature: { low: 20, high: 30, mostPerHour: 0.5 } };

  test('a fast rise inside the band goes unsaid, or is said before it is too much', () => {
    const ran = run({ bands, series: { temperature: `${alive(25, 60)} 25>27*60 ${alive(27, 120)}` } });
    const [raised, cleared] = ran.events;
    expect(ran.events.map(({ state }) => state)).toEqual(['raised', 'cleared']);
    // Half a degree is used up 15 minutes into the rise; five-minute medians add at most 15.
    const minutes = (raised!.timeMs - mondayMs) / minuteMs - 60;
    expect(minutes).toBeGreaterThanOrEqual(15);
    expect(minutes).toBeLessThanOrEqual(30);
    expect(raised!.message).toMatch(/^Temperature rose by 0\.\d+ °C within the last hour, more than 0\.5 °C; it is 2/);
    // The rise is over at minute 120 and leaves the hour's window at 180.
    expect((cleared!.timeMs - mondayMs) / minuteMs).toBeLessThanOrEqual(200);
  });

  test('a day of slow rise counts as fast', () => {
    expect(transitions(run({ bands, series: { temperature: '22>29*1440' } }))).toEqual([]);
  });

  test('a jump across a gap of two hours counts as a rate', () => {
    const ran = run({ bands, series: { temperature: `${alive(25, 60)} .*130 ${alive(27, 60)}` } });
    expect(transitions(ran).filter((line) => line.includes('rate'))).toEqual([]);
  });
});

describe('swing', () => {
  const bands = { salinity: { low: 30, high: 40, mostPerDay: 0.5 } };

  test('a slow walk beyond the day limit goes unsaid', () => {
    const ran = run({ bands, series: { salinity: `35>35.6*1200 ${alive(35.6, 2200)}` } });
    const swings = ran.events.filter(({ rule }) => rule === 'swing');
    expect(swings.map(({ state }) => state)).toEqual(['raised', 'cleared']);
    // 0.5 is used up after 1000 minutes.
    expect((swings[0]!.timeMs - mondayMs) / minuteMs).toBeGreaterThanOrEqual(1000);
    expect((swings[0]!.timeMs - mondayMs) / minuteMs).toBeLessThanOrEqual(1030);
    // It ends when the low hours have left the window of 24 to 25 hours.
    expect((swings[1]!.timeMs - mondayMs) / minuteMs).toBeGreaterThan(1440);
  });
});

describe('stuck and impossible values', () => {
  const bands = { ph: { low: 7.8, high: 8.5 } };

  test('a stuck probe is not found, or found again after each spike', () => {
    const stuck = `${'8.1*300 '}9.9? 8.1*100 8.13 8.1*100 ${alive(8.1, 60)}`;
    const ran = run({ bands, series: { ph: `${alive(8.1, 60)} ${stuck}` } });
    const lines = transitions(ran).map((line) => line.replace(/^\d+ /, ''));
    expect(lines).toEqual(['raised ph/flat_line', 'cleared ph/flat_line']);
    expect((ran.events[0]!.timeMs - mondayMs) / minuteMs - 60).toBe(240);
  });

  test('a display with coarse steps is called stuck', () => {
    // A week in which each value stands for three hours: the habit allows it.
    const day = ['8.0*180', '8.1*180', '8.2*180', '8.3*180', '8.2*180', '8.1*180', '8.0*180', '7.9*180'].join(' ');
    const ran = run({ bands, series: { ph: Array(5).fill(day).join(' ') } });
    expect(transitions(ran)).toEqual([]);
  });

  test('a lively probe that sticks is found only after the default of four hours', () => {
    const ran = run({ bands, series: { ph: `${alive(8.1, 4 * 1440)} 8.1*120` } });
    const first = ran.events.find(({ rule }) => rule === 'flat_line');
    expect((first!.timeMs - mondayMs) / minuteMs - 4 * 1440).toBeLessThanOrEqual(40);
  });

  test('one bad reading in five is told as if all were bad, or for hours not at all', () => {
    const ran = run({ bands, series: { ph: Array(60).fill('8.10 x 8.11 8.12 8.10').join(' ') } });
    // A fifth of them is 5 % of six hours after 104 minutes: 1 - exp(-104/360) = 0.25.
    expect(transitions(ran)).toEqual([expect.stringMatching(/^10\d raised ph\/impossible_value\/often$/)]);
    expect(ran.events[0]!.message).toMatch(/^pH: 5 % of the readings of the last hours failed/);
  });

  test('a probe that mostly fails is not reported, or is taken back while it fails', () => {
    const ran = run({
      bands,
      series: { ph: `${alive(8.1, 30)} ${Array(60).fill('x x 8.1').join(' ')} ${alive(8.1, 60)}` },
    });
    expect(ran.events.map(({ state, rule }) => `${state} ${rule}`)).toEqual([
      'raised impossible_value',
      'cleared impossible_value',
    ]);
    expect(ran.events[0]!.message).toContain('Check that the probe is plugged in');
  });
});

describe('silent probes', () => {
  const bands = { temperature: { low: 25, high: 26.5 } };

  test('a listed probe that never spoke is not missed', () => {
    const probes = [{ id: 'one', metric: 'temperature' as const, everyMs: minuteMs }];
    const ran = run({ bands, probes, series: { ph: '.*20' } });
    expect(transitions(ran)).toEqual(['6 raised temperature/silent_probe']);
  });

  test('a slow stream is called dead between two readings', () => {
    const ran = run({ bands, everyMs: hourMs, series: { temperature: Array(60).fill('25.8 25.9').join(' ') } });
    expect(transitions(ran)).toEqual([]);
  });

  test('hand values once a day are called a dead probe', () => {
    const ran = run({
      bands: { alkalinity: { low: 7, high: 9 } },
      everyMs: dayMs,
      series: { alkalinity: '8 8.1 8 . . 8.2 8 . 8 8.1' },
    });
    expect(transitions(ran)).toEqual([]);
  });

  test('the hub calls every probe dead when it starts again after a night', () => {
    const first = run({ bands, series: { temperature: alive(25.5, 30) } });
    const restarted = run({
      bands,
      startMs: mondayMs + 12 * hourMs,
      state: first.state,
      series: { temperature: `.*3 ${alive(25.5, 30)}` },
    });
    expect(transitions(restarted)).toEqual([]);
  });
});

describe('departure and drift', () => {
  const bands = { salinity: { low: 34, high: 36 } };
  // One reading in five minutes keeps the script short; the day has its own small cycle.
  const day = (n: number, shift = 0): string =>
    Array.from({ length: 288 }, (_, i) =>
      (35 + shift + 0.05 * Math.sin((2 * Math.PI * i) / 288) + 0.003 * ((i + n) % 3)).toFixed(4),
    ).join(' ');
  const days = (count: number): string => Array.from({ length: count }, (_, n) => day(n)).join(' ');

  test('a value that this hour is not used to goes unsaid although it is inside the band', () => {
    const ran = run({ bands, everyMs: 5 * minuteMs, series: { salinity: `${days(9)} ${day(9, 0.5)}` } });
    expect(ran.events.map(({ alarm }) => alarm)).toContain('tank/salinity/departure');
    expect((ran.events[0]!.timeMs - mondayMs) / dayMs).toBeGreaterThan(9);
    expect((ran.events[0]!.timeMs - mondayMs) / dayMs).toBeLessThan(9.1);
    expect(ran.events[0]!.message).toMatch(/above what is usual for this hour/);
  });

  test('a rule speaks of habits before it knows any', () => {
    const ran = run({ bands, everyMs: 5 * minuteMs, series: { salinity: `${days(2)} ${day(9, 0.5)}` } });
    expect(ran.events.filter(({ rule }) => rule === 'departure' || rule === 'drift')).toEqual([]);
  });

  test('a slow walk towards the edge goes unsaid until it is there', () => {
    // From the eighth day on it rises by 0.2 a day; departure is switched off to see the drift alone.
    const walk = Array.from({ length: 4 * 288 }, (_, i) => (35 + (0.2 * i) / 288 + 0.003 * (i % 3)).toFixed(4)).join(
      ' ',
    );
    const ran = run({
      bands,
      everyMs: 5 * minuteMs,
      overrides: [{ rule: 'departure', enabled: false }],
      series: { salinity: `${days(8)} ${walk}` },
    });
    const first = ran.events[0]!;
    expect(`${first.state} ${first.rule}`).toBe('raised drift');
    // The edge is reached on the fifth day of the walk; within the last 72 hours it must be said, at least a day ahead.
    expect((first.timeMs - mondayMs) / dayMs - 8).toBeLessThan(4);
    expect(first.message).toMatch(/slowly rises, about 0\.\d+ a day, and may leave the band 34 to 36 in \d+ h/);
  });
});

describe('probes that disagree', () => {
  test('two thermometers a degree apart go unsaid', () => {
    const bands = { temperature: { low: 20, high: 30 } };
    const probes = ['left', 'right'].map((id) => ({ id, metric: 'temperature' as const, everyMs: minuteMs }));
    const ran = run({
      bands,
      probes,
      series: {
        'temperature/left': alive(25.5, 300),
        'temperature/right': `${alive(25.6, 60)} ${alive(26.5, 240)}`,
      },
    });
    expect(ran.events.map(({ state, rule }) => `${state} ${rule}`)).toContain('raised probes_disagree');
    expect(ran.events.filter(({ rule }) => rule === 'probes_disagree')).toHaveLength(1);
  });
});

test('an override of one metric does not hold, or holds for another', () => {
  const bands = { temperature: { low: 25, high: 26.5, mostPerHour: 50 }, ph: { low: 7.8, high: 8.4, mostPerHour: 50 } };
  const ran = run({
    bands,
    overrides: [
      { rule: 'out_of_band', metric: 'temperature', onDelayMs: 0, priority: 'low' },
      { rule: 'out_of_band', metric: 'ph', enabled: false },
    ],
    series: { temperature: `${alive(25.5, 5)} ${alive(27, 5)}`, ph: `${alive(8, 5)} ${alive(9, 60)}` },
  });
  expect(transitions(ran).slice(0, 1)).toEqual(['5 raised temperature/out_of_band/high']);
  expect(ran.events[0]!.priority).toBe('low');
  expect(ran.events.some(({ alarm }) => alarm.startsWith('tank/ph/out_of_band'))).toBe(false);
});

test('people cannot see that an alarm is frozen, stale or chattering', () => {
  const bands = { temperature: { low: 25, high: 26.5, mostPerHour: 50 } };
  const ran = run({ bands, series: { temperature: `${alive(25.5, 30)} ${alive(27, 20)} .*1500` } });
  const alarm = alarmsOf(ran.rules, ran.state, ran.nowMs).find(({ rule }) => rule === 'out_of_band');
  expect(alarm).toMatchObject({ state: 'unacknowledged', isFrozen: true, isStale: true, isChattering: false });
  expect(alarm?.sinceMs).toBe(mondayMs + 30 * minuteMs);
});
