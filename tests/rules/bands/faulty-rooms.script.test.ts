import { afterAll, describe, expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import { coarseSteps, faults, fineSteps, oscillation, plainBands, runRoom } from './room-simulator.ts';
import { dayMs, minuteMs } from './script.ts';

/**
 * Invented rooms with one fault each, judged by the rules that bands alone give. The aims are ours: a fault that kills is
 * found in minutes, no fault gives more than a handful of alarms, and a sound room stays quiet.
 */

const edgesOnly: Bands = {
  temperature: { low: 25, high: 26.5 },
  ph: { low: 7.85, high: 8.45 },
  salinity: { low: 34, high: 36 },
};

type Aim = { fault: string; within: number; by: RegExp; most: number; hours: number };

/** Within so many minutes, by one of these rules, with at most so many alarms while it lasts. */
const aims: Aim[] = [
  { fault: 'heater stuck on', within: 45, by: /temperature\/(rate|out_of_band\/high)/, most: 3, hours: 24 },
  // A large body of water takes an hour or more to cool to the edge; the alarm follows within minutes.
  { fault: 'heater dead', within: 120, by: /temperature\/(rate|out_of_band\/low)/, most: 3, hours: 24 },
  { fault: 'top-off stopped', within: 40 * 60, by: /salinity\/(drift|departure|swing)/, most: 3, hours: 72 },
  { fault: 'top-off stuck open', within: 120, by: /salinity\//, most: 3, hours: 24 },
  { fault: 'ph probe unplugged', within: 15, by: /ph\//, most: 3, hours: 24 },
  { fault: 'ph input open', within: 10, by: /ph\/impossible_value/, most: 2, hours: 24 },
  { fault: 'ph probe frozen', within: 240, by: /ph\/flat_line/, most: 2, hours: 48 },
  { fault: 'temperature probe frozen', within: 8 * 60, by: /temperature\/flat_line/, most: 2, hours: 48 },
  { fault: 'temperature probe silent', within: 10, by: /temperature\/silent_probe/, most: 1, hours: 24 },
  { fault: 'room CO2 up', within: 8 * 60, by: /ph\/(departure|out_of_band\/low)/, most: 3, hours: 24 },
  { fault: 'alkalinity overdose', within: 30, by: /ph\/(rate|out_of_band\/high)/, most: 3, hours: 24 },
  { fault: 'bubble on the cell', within: 15, by: /salinity\//, most: 4, hours: 6 },
  { fault: 'bubble comes and goes', within: 20, by: /salinity\/impossible_value/, most: 4, hours: 6 },
];

const lines: string[] = [];
afterAll(() => console.log(['fault, first alarm after, alarms while it lasts', ...lines].join('\n')));

const isRaise = ({ state }: AlarmEvent): boolean => state === 'raised' || state === 'reraised';
const short = ({ alarm }: AlarmEvent): string => alarm.replace(/^tank\//, '');

describe.each([
  ['with limits a day and an hour', plainBands],
  ['with edges alone', edgesOnly],
] as const)('bands %s', (name, bands) => {
  test.each(aims)('$fault is found too late or said too often', ({ fault, within, by, most, hours }) => {
    const found = runRoom({
      seed: 7,
      days: 19,
      bands,
      faultDay: 14.4,
      faultHours: hours,
      fault: faults[fault]!,
      spikes: 0.003,
    });
    const raises = found.events.filter(isRaise);
    expect(raises.filter(({ timeMs }) => timeMs < found.faultMs).map(short)).toEqual([]);
    const during = raises.filter(({ timeMs }) => timeMs < found.faultMs + hours * 60 * minuteMs);
    const first = during[0];
    if (first === undefined) throw new Error('never found');
    const minutes = (first.timeMs - found.faultMs) / minuteMs;
    lines.push(`${fault} (${name}), ${minutes.toFixed(0)} min, ${during.length}: ${during.map(short).join(' ')}`);
    expect(minutes).toBeLessThanOrEqual(within);
    expect(short(first)).toMatch(by);
    expect(during.length).toBeLessThanOrEqual(most);
    // Mended, and everything has returned to normal: no alarm may be left over two days later.
    const standing = new Set<string>();
    for (const { alarm, state } of found.events) {
      if (state === 'raised') standing.add(alarm);
      else if (state === 'cleared') standing.delete(alarm);
    }
    if (hours <= 24) expect([...standing]).toEqual([]);
  });
});

test.each([
  [0.05, 20],
  [0.2, 20],
  [0.2, 60],
  [0.3, 120],
  [0.3, 300],
  [0.3, 480],
  [0.3, 720],
])('a temperature that crosses its edge by %s every %s minutes for ten days floods the phone', (amplitude, period) => {
  const fault = oscillation('temperature', 26.5, amplitude, period);
  const found = runRoom({ seed: 3, days: 14, bands: edgesOnly, faultDay: 4, fault, spikes: 0.003 });
  const raises = found.events.filter(isRaise);
  lines.push(`edge crossed by ${amplitude} every ${period} min, ${raises.length}: ${raises.map(short).join(' ')}`);
  expect(raises.length).toBeLessThanOrEqual(3);
  expect(raises.length).toBeGreaterThan(0);
});

test.each([1, 5, 15])(
  'ten clean weeks with spikes wake the keeper more than once (a reading every %s min)',
  (everyMinutes) => {
    const raises: string[] = [];
    let weeks = 0;
    for (const [seed, bands, steps] of [
      [21, plainBands, fineSteps],
      [22, edgesOnly, coarseSteps],
      [23, plainBands, coarseSteps],
    ] as const) {
      const found = runRoom({ seed, days: 28, bands, spikes: 0.005, steps, everyMinutes });
      weeks += 4;
      raises.push(...found.events.filter(isRaise).map(short));
      const figures = alarmFigures(found.events, found.startMs, found.startMs + 28 * dayMs);
      expect(figures.raised).toBe(found.events.filter(isRaise).length);
    }
    lines.push(
      `${weeks} clean weeks with spikes (every ${everyMinutes} min), ${raises.length} alarms: ${raises.join(' ')}`,
    );
    expect(raises.length).toBeLessThanOrEqual(1);
  },
);
