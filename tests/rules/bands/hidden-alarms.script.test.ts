import { describe, expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import type { Command, Evidence } from '#rules/bands/evidence.ts';
import { dayMs, hourMs, minuteMs, mondayMs, run, transitions } from './script.ts';

const bands = {
  temperature: { low: 25, high: 26.5, mostPerHour: 50 },
  alkalinity: { low: 7.5, high: 9 },
};

describe('maintenance', () => {
  const series = { temperature: `${'25.5 25.6 '.repeat(10)} ${'27 27.1 '.repeat(60)}` };
  const until = (minute: number, probe?: string): Command => ({
    ...{ do: 'maintenance', system: 'tank', untilMs: mondayMs + minute * minuteMs, by: 'ana' },
    ...(probe === undefined ? {} : { probe }),
  });
  const tested = (minute: number): Evidence => {
    return { is: 'test', system: 'tank', analyte: 'alkalinity', value: 11, timeMs: mondayMs + minute * minuteMs };
  };

  test('of one probe hides the alarm of another, or not its own', () => {
    const first = (probe: string) => transitions(run({ bands, series, at: { 5: until(60, probe) } }))[0];
    expect(first('cell')).toBe('25 raised temperature/out_of_band/high');
    expect(first('temperature')).toBe('65 raised temperature/out_of_band/high');
  });

  test('lets a test of the system ring, or that of one probe silences it', () => {
    const rung = (probe?: string) =>
      transitions(
        run({ bands, series: { temperature: '25.5 25.6 '.repeat(50) }, at: { 5: until(60, probe), 20: tested(20) } }),
      ).filter((line) => line.includes('raised alkalinity'));
    expect(rung('temperature')).toEqual(['20 raised alkalinity/out_of_band/high/test']);
    // What was tested meanwhile is still so when the maintenance is over.
    expect(rung()).toEqual(['60 raised alkalinity/out_of_band/high/test']);
  });
});

test('the same salt is told as salinity, as conductivity and as specific gravity', () => {
  const ran = run({
    bands: {
      salinity: { low: 34, high: 36, mostPerHour: 50 },
      conductivity: { low: 51.5, high: 54, mostPerHour: 50 },
      specific_gravity: { low: 1.025, high: 1.027, mostPerHour: 50 },
    },
    series: {
      salinity: `${'35 35.1 '.repeat(10)} ${'33 33.1 '.repeat(40)}`,
      conductivity: `${'53 53.1 '.repeat(10)} ${'50.3 50.4 '.repeat(40)}`,
      specific_gravity: `${'1.0262 1.0263 '.repeat(10)} ${'1.0247 1.0248 '.repeat(40)}`,
    },
  });
  expect(transitions(ran).filter((line) => line.includes('raised'))).toEqual(['30 raised salinity/out_of_band/low']);
});

test('an alarm raised again is not counted, or counts its standing from anew', () => {
  const event = (hour: number, alarm: string, state: AlarmEvent['state']): AlarmEvent => ({
    ...{ timeMs: mondayMs + hour * hourMs, alarm, occurrence: 1, state, system: 'tank', metric: 'ph' },
    ...{ rule: 'out_of_band', priority: 'low', message: '' },
  });
  const events = [
    event(2, 'b', 'raised'),
    event(4, 'b', 'acknowledged'),
    event(10, 'b', 'reraised'),
    event(11, 'b', 'cleared'),
    event(12, 'a', 'raised'),
    event(13, 'a', 'cleared'),
    event(14, 'a', 'raised'),
    event(15, 'a', 'cleared'),
  ];
  expect(alarmFigures(events, mondayMs, mondayMs + dayMs)).toMatchObject({
    raised: 4,
    longestStanding: { alarm: 'b', durationMs: 9 * hourMs },
    // As often as the other: by name.
    mostFrequent: [
      { alarm: 'a', raised: 2 },
      { alarm: 'b', raised: 2 },
    ],
  });
});

describe('salinity that walks out of its band over days', () => {
  // Eight days of a small cycle about 35, then 0.2 more each day, a reading each five minutes.
  const readings = (perDay: number) =>
    Array.from({ length: 12 * 288 }, (_, at) => {
      const walked = Math.max(0, at / 288 - 8) * perDay;
      return (35 + walked + 0.05 * Math.sin((2 * Math.PI * at) / 288) + 0.003 * (at % 3)).toFixed(4);
    }).join(' ');
  const drifts = (at: Record<number, Evidence>, perDay = 0.2) =>
    transitions(
      run({
        bands: { salinity: { low: 34, high: 36 } },
        everyMs: 5 * minuteMs,
        overrides: [{ rule: 'departure', enabled: false }],
        series: { salinity: readings(perDay) },
        at,
      }),
    ).filter((line) => line.includes('drift'));

  test('is not told, or is told by the stream although the estimator knows better', () => {
    expect(drifts({}).map((line) => line.replace(/^\d+ /, ''))).toEqual(['raised salinity/drift']);
    expect(drifts({}, -0.2)).toHaveLength(1);
    const calm: Evidence = { is: 'forecast', system: 'tank', metric: 'salinity', probability: 0.1 };
    const each = (hours: number) =>
      Object.fromEntries(Array.from({ length: 288 / hours }, (_, at) => [at * hours * 60, calm]));
    expect(drifts(each(12))).toEqual([]);
    // An estimator that fell silent on the sixth day says nothing about the tenth.
    expect(drifts({ [6 * 24 * 60]: calm })).toHaveLength(1);
  });
});

// Conductivity of sea water rises by about 2 % for each °C (PSS-78; from memory): some 1.1 of 53 mS/cm.
test('conductivity that follows the warmth by its physics is told as well, or hides what is far larger', () => {
  const hot = `${'25.5 25.6 '.repeat(15)} ${'30 30.1 '.repeat(30)} ${'25.5 25.6 '.repeat(30)}`;
  const raised = (peak: number) =>
    transitions(
      run({
        bands: {
          temperature: { low: 25, high: 26.5, mostPerHour: 50 },
          conductivity: { low: 50, high: 57, mostPerHour: 3 },
        },
        series: {
          temperature: hot,
          conductivity: `${'53 53.1 '.repeat(15)} ${`${peak} ${peak + 0.1} `.repeat(30)} ${'53 53.1 '.repeat(30)}`,
        },
      }),
    ).filter((line) => line.includes('raised conductivity'));
  expect(raised(58)).toEqual([]);
  expect(raised(75)).toContain('40 raised conductivity/out_of_band/high');
});
