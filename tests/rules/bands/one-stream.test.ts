import { describe, expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState } from '#rules/bands/room.ts';
import { forgetTimes, mostSeries, newAnalyte, newSeries, type RoomState } from '#rules/bands/room-state.ts';
import type { WatchedProbe } from '#rules/bands/watched-room.ts';
import type { Quality } from '#rules/quality/reading.ts';
import { minuteMs, mondayMs } from './script.ts';
import { StepTank } from './step-tank.ts';

// What a flag says of the probe and of the water: the meanings of QARTOD's flags (IOOS, from memory); the rest is common practice, no
// published source.

/** One reading at a time: which move the rules, which do not, and what the clock may do between them. */

describe('a reading', () => {
  test.each<[Quality, boolean, boolean]>([
    // Whether it proves that the probe lives, and whether it says something about the water.
    [{ flag: 'pass', value: 26 }, true, true],
    [{ flag: 'not_evaluated', value: 26 }, true, true],
    [{ flag: 'suspect', value: 26, why: 'spike' }, true, false],
    [{ flag: 'fail', raw: -127, why: 'range' }, true, false],
    [{ flag: 'missing', why: 'no value' }, false, false],
  ])('%j counts for more or less than it is', (quality, isHeard, isGood) => {
    const tank = new StepTank();
    tank.read(0, 25.5);
    tank.read(1, quality);
    expect(tank.series().heardMs).toBe(mondayMs + (isHeard ? minuteMs : 0));
    expect(tank.series()).toMatchObject({ goodValue: isGood ? 26 : 25.5, goodMs: mondayMs + (isGood ? minuteMs : 0) });
    const first = new StepTank();
    first.read(0, quality);
    expect(first.series().hasSpoken).toBe(isHeard);
  });

  test('that is late, or told twice, moves an alarm', () => {
    const tank = new StepTank();
    tank.read(5, 25.5);
    tank.read(6, 30, { at: 4 });
    tank.read(6, 30, { at: 5 });
    expect(tank.series()).toMatchObject({ goodValue: 25.5, heardMs: mondayMs + 5 * minuteMs });
    expect(tank.series().habit.count).toBe(0);
    tank.read(6, 25.6);
    expect(tank.series()).toMatchObject({ goodValue: 25.6, heardMs: mondayMs + 6 * minuteMs });
    expect(tank.series().habit).toMatchObject({ count: 1, typicalMs: minuteMs });
  });

  test('stamped ahead of the clock silences all that come after it', () => {
    const tank = new StepTank();
    tank.read(0, 25.5, { at: 600 });
    expect(tank.series().heardMs).toBe(mondayMs);
    tank.read(1, 25.6);
    expect(tank.series().goodValue).toBe(25.6);
  });

  test('after the clock stepped back is lost, or the habits are', () => {
    const tank = new StepTank();
    tank.readFrom(0, 30, 25.5);
    const { habit } = structuredClone(tank.series());
    tank.read(10, 25.9);
    expect(tank.series()).toMatchObject({ goodValue: 25.9, heardMs: mondayMs + 10 * minuteMs, habit });
    // Medians and the run of one value begin anew.
    expect(tank.series().stuck).toMatchObject({ value: 25.9, sinceMs: mondayMs + 10 * minuteMs, readings: 1 });
    expect(tank.series().median.values).toEqual([25.9]);
    // A late reading by a clock that is right stays late.
    tank.read(10, 30, { at: 9 });
    expect(tank.series().goodValue).toBe(25.9);
  });

  test('of a system that is not there makes a stream, or of one stream too many', () => {
    const tank = new StepTank();
    expect(tank.read(0, 30, { system: 'none' })).toEqual([]);
    expect(tank.state.series).toEqual([]);
    tank.state.series = Array(mostSeries - 1).fill(newSeries('sump', 'ph', 'full', true, 0));
    tank.state = { ...tank.state };
    tank.read(0, 25);
    tank.read(0, 25, { probe: 'one more' });
    expect(tank.state.series).toHaveLength(mostSeries);
    expect(tank.state.refusedReadings).toBe(1);
    // A known stream is still judged.
    tank.read(1, 25.25);
    expect(tank.series().goodValue).toBe(25.25);
    expect(tank.state.refusedReadings).toBe(1);
  });

  test('of a second probe takes the name of the first', () => {
    const tank = new StepTank();
    tank.read(0, 25);
    tank.read(0, 25, { probe: 'spare' });
    tank.read(0, 25, { probe: 'other', system: 'sump' });
    expect(tank.state.series.map(({ probe, isNamed }) => `${probe} ${isNamed}`)).toEqual([
      'temperature false',
      'spare true',
      'other false',
    ]);
    const listed = new StepTank({ probes: ['a', 'b'].map((id) => ({ id, metric: 'temperature' as const })) });
    listed.read(0, 25, { probe: 'a' });
    expect(listed.series('temperature', 'a').isNamed).toBe(true);
  });
});

describe('a stream begins', () => {
  test('with something that nobody read', () => {
    const series = newSeries('tank', 'ph', 'glass', true, 7);
    expect(series).toMatchObject({ system: 'tank', metric: 'ph', probe: 'glass', isNamed: true, heardMs: 7 });
    expect(series).toMatchObject({ hasSpoken: false, goodValue: null, calmValue: null });
    expect(series.alarms).toEqual(Array(11).fill(null));
    expect(Object.values(series.figures)).toEqual([0, 0, 0, 0, null, 0, '']);
    expect(newAnalyte('tank', 'ph')).toEqual({
      ...{ system: 'tank', metric: 'ph', tests: [], doses: [], demand: [], forecastMs: null },
      forecast: { hoursToLeave: null, probability: 0, side: null },
    });
    expect(emptyRoomState()).toMatchObject({
      ...{ series: [], alarms: [], maintenance: [], analytes: [], calibrations: [], edges: [] },
      ...{ version: 1, nowMs: null, startedMs: null, refusedReadings: 0 },
    });
  });

  test('anew after the clock stepped back, and forgets what it learned or keeps what lies ahead', () => {
    const tank = new StepTank({ bands: { temperature: { low: 20, high: 30, mostPerHour: 5, mostPerDay: 5 } } });
    tank.readFrom(0, 130, 25.5);
    const series = tank.series();
    const kept = structuredClone(series);
    forgetTimes(series);
    expect(series).toMatchObject({
      stuck: { value: null, sinceMs: 0, interrupted: null, day: null },
      median: { bucketMs: null, values: [], before: [] },
      calmValue: null,
      lastHour: { values: [], timesMs: [] },
      lastDay: { hour: null, past: [], pastLow: null },
      cycle: { hour: null, medians: [] },
    });
    expect(series.habit).toEqual(kept.habit);
    expect(series.cycle.week).toEqual(kept.cycle.week);
    expect(kept.lastHour.values.length).toBeGreaterThan(5);
    expect(kept.cycle.week.some((value) => value !== null)).toBe(true);
  });
});

describe('water out of its band', () => {
  const side = (end: 'high' | 'low') => `temperature/out_of_band/${end}`;

  test('is told on one side alone, or leaves a record where nothing was ever wrong', () => {
    const tank = new StepTank();
    tank.readFrom(0, 30, 25.5);
    expect(tank.series().alarms).toEqual(Array(11).fill(null));
    expect(tank.readFrom(31, 40, 24)).toEqual([`raised ${side('low')}`]);
    expect(tank.events[0]).toMatchObject({ timeMs: mondayMs + 36 * minuteMs, rule: 'out_of_band', priority: 'high' });
    expect(tank.readFrom(41, 55, 25.5)).toEqual([`cleared ${side('low')}`]);
    expect(tank.readFrom(56, 65, 27)).toEqual([`raised ${side('high')}`]);
  });

  test('that jumps from one side to the other loses one of two alarms of one reading', () => {
    const tank = new StepTank({ overrides: [{ rule: 'out_of_band', onDelayMs: 0, offDelayMs: 0 }] });
    expect(tank.read(0, 24)).toEqual([`raised ${side('low')}`]);
    expect(tank.read(1, 27)).toEqual([`raised ${side('high')}`, `cleared ${side('low')}`]);
  });

  test('of a slow stream is never told, for each of its gaps is too long', () => {
    const tank = new StepTank();
    for (let hour = 0; hour < 12; hour += 1) tank.read(hour * 60, 25.5 + (hour % 3) / 100);
    expect(tank.read(12 * 60, 27)).toEqual([]);
    expect(tank.read(13 * 60, 27.1)).toEqual([`raised ${side('high')}`]);
  });

  test('is not raised again while it stands acknowledged', () => {
    const tank = new StepTank({ overrides: [{ rule: 'out_of_band', reAlarmMs: 30 * minuteMs }] });
    tank.readFrom(0, 10, 27);
    tank.command(11, { do: 'acknowledge', alarm: `tank/${side('high')}`, by: 'ana' });
    expect(tank.readFrom(11, 45, 27)).toEqual([`reraised ${side('high')}`]);
    expect(tank.events.at(-1)!.timeMs).toBe(mondayMs + 41.5 * minuteMs);
  });
});

describe('a silence', () => {
  const probes: WatchedProbe[] = [{ id: 'one', metric: 'temperature', everyMs: minuteMs }];
  const silent = 'temperature/silent_probe';

  test('is told before five intervals have passed, or not when they have', () => {
    const tank = new StepTank({ probes });
    tank.readFrom(0, 10, 25.5, { probe: 'one' });
    expect([11, 12, 13, 14, 15].flatMap((minute) => tank.tick(minute))).toEqual([]);
    expect(tank.tick(15.1)).toEqual([`raised ${silent}`]);
    expect(tank.events.at(-1)).toMatchObject({ value: 25.51, priority: 'medium', rule: 'silent_probe' });
    // Five minutes of readings end it.
    expect(tank.readFrom(16, 20, 25.5, { probe: 'one' })).toEqual([]);
    expect(tank.readFrom(21, 21, 25.5, { probe: 'one' })).toEqual([`cleared ${silent}`]);
  });

  test('of the hub itself is told as one of the probe', () => {
    const tank = new StepTank({ probes });
    tank.readFrom(0, 10, 25.5, { probe: 'one' });
    // Stopped for an hour: it begins to listen anew.
    expect(tank.tick(70)).toEqual([]);
    expect(tank.state.listeningSinceMs).toBe(mondayMs + 70 * minuteMs);
    expect(tank.tick(74)).toEqual([]);
    expect(tank.tick(75.2)).toEqual([`raised ${silent}`]);
    // A pause of ten minutes is none.
    const short = new StepTank({ probes });
    short.readFrom(0, 10, 25.5, { probe: 'one' });
    expect(short.tick(20.5)).toEqual([`raised ${silent}`]);
    expect(short.state.listeningSinceMs).toBe(mondayMs);
    const long = new StepTank({ probes });
    long.readFrom(0, 10, 25.5, { probe: 'one' });
    expect(long.tick(20.51)).toEqual([]);
  });

  test('ends by the readings alone, or by the clock alone', () => {
    const dead = () => {
      const tank = new StepTank({ probes });
      tank.readFrom(0, 10, 25.5, { probe: 'one' });
      tank.tick(15.1);
      return tank;
    };
    const heard = dead();
    const told = [16, 17, 18, 19, 20, 21].flatMap((minute) =>
      heard.read(minute, 25.5 + minute / 100, { probe: 'one' }),
    );
    expect(told).toEqual([`cleared ${silent}`]);
    // Two readings within its time, and the clock between and after them.
    const slow = dead();
    slow.read(16, 25.5, { probe: 'one' });
    for (let minute = 16.5; minute < 20; minute += 0.5) expect(slow.tick(minute)).toEqual([]);
    slow.read(20, 25.6, { probe: 'one' });
    expect(slow.tick(20.5)).toEqual([]);
    expect(slow.tick(21)).toEqual([`cleared ${silent}`]);
    // Its rule was switched off meanwhile: the reading is taken all the same.
    const off = new StepTank({ probes, overrides: [{ rule: 'silent_probe', enabled: false }] });
    off.state = JSON.parse(JSON.stringify(dead().state)) as RoomState;
    expect(off.read(16, 25.5, { probe: 'one' })).toEqual([]);
    expect(off.tick(16.5)).toEqual([`cleared ${silent}`]);
  });

  test('is over because the hub was away, or not when the probe is heard at once', () => {
    const two: WatchedProbe[] = [{ id: 'one', metric: 'temperature', everyMs: 2 * minuteMs }];
    const dead = () => {
      const tank = new StepTank({ probes: two });
      tank.readFrom(0, 10, 25.5, { probe: 'one' });
      expect(tank.tick(20.1)).toEqual([`raised ${silent}`]);
      return tank;
    };
    const away = dead();
    const still = dead();
    still.read(70, 25.5, { probe: 'one' });
    const until: string[] = [];
    for (let minute = 70; minute <= 79; minute += 0.5) {
      expect(away.tick(minute)).toEqual([]);
      until.push(...still.tick(minute).map((line) => `${minute} ${line}`));
    }
    expect(until).toEqual([`75 cleared ${silent}`]);
  });

  test('behind an edge that came back is told at once, or never', () => {
    const tank = new StepTank({ probes });
    const edge = (isUp: boolean): Evidence => ({ is: 'edge', name: 'usb', isUp, detail: 'gone', probes: ['one'] });
    tank.readFrom(0, 10, 25.5, { probe: 'one' });
    tank.offer(11, edge(false));
    for (let minute = 12; minute < 20; minute += 1) expect(tank.tick(minute).join()).not.toContain(silent);
    tank.offer(20, edge(true));
    for (let minute = 20.5; minute <= 25; minute += 0.5) expect(tank.tick(minute).join()).not.toContain(silent);
    expect(tank.tick(25.2)).toContain(`raised ${silent}`);
  });

  test('of a stream whose rule is off is told', () => {
    const tank = new StepTank({ probes, overrides: [{ rule: 'silent_probe', enabled: false }] });
    tank.readFrom(0, 10, 25.5, { probe: 'one' });
    expect(tank.tick(19)).toEqual([]);
    expect(tank.series('temperature', 'one').alarms[6]).toBeNull();
  });
});
