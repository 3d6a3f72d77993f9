import { describe, expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Command } from '#rules/bands/evidence.ts';
import { alarmsOf, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { indexOf, streamOf } from '#rules/bands/room-index.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import type { Quality } from '#rules/quality/reading.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';
import { StepTank, temperatureBand } from './step-tank.ts';

// Times and values are the test's own; that maintenance silences its probe alone is common practice, no published source.

describe('maintenance', () => {
  const window = (probe?: string): Command => ({
    ...{ do: 'maintenance', system: 'tank', untilMs: mondayMs + 20 * minuteMs, by: 'ana' },
    ...(probe === undefined ? {} : { probe }),
  });

  test('lets what the hands do count for the water, or for longer than it lasts', () => {
    const tank = new StepTank();
    tank.read(0, 25.5);
    tank.command(1, window());
    tank.readFrom(2, 19, 30);
    expect(tank.series()).toMatchObject({ goodValue: 25.5, heardMs: mondayMs + 19 * minuteMs });
    expect(tank.state.maintenance).toHaveLength(1);
    tank.read(20, 25.6);
    expect(tank.series().goodValue).toBe(25.6);
    tank.tick(20);
    expect(tank.state.maintenance).toEqual([]);
  });

  test('of one probe or system stops the judging of another', () => {
    const tank = new StepTank();
    tank.read(0, 25.5);
    tank.command(1, window('spare'));
    tank.read(2, 30);
    tank.read(2, 30, { probe: 'spare' });
    tank.read(2, 30, { probe: 'spare', system: 'sump' });
    expect(tank.state.series.map(({ goodValue }) => goodValue)).toEqual([30, null, 30]);
    // Nor does a second window end the first.
    tank.command(3, window('third'));
    tank.read(4, 30, { probe: 'spare' });
    expect(tank.state.series.map(({ goodValue }) => goodValue)).toEqual([30, null, 30]);
  });
});

describe('a bad stream', () => {
  const ph: Bands = { ph: { low: 7.8, high: 8.4 } };
  const bad: Quality = { flag: 'fail', raw: -127, why: 'range' };
  const read = (tank: StepTank, from: number, to: number, quality: Quality | number) => {
    const told: string[] = [];
    for (let minute = from; minute <= to; minute += 1) {
      const moved = typeof quality === 'number' ? quality + (minute % 3) / 100 : quality;
      told.push(...tank.read(minute, moved, { metric: 'ph' }).map((line) => `${minute} ${line}`));
    }
    return told;
  };

  test('is told with the first bad reading, not at all, or with its words left out', () => {
    const tank = new StepTank({ bands: ph });
    expect(read(tank, 0, 10, 8.1)).toEqual([]);
    expect(tank.series('ph').bad.share).toBe(0);
    // More than half of the last minutes: 1 - exp(-0.7) is the first above it.
    expect(read(tank, 11, 30, bad)).toEqual(['17 raised ph/impossible_value']);
    expect(tank.events[0]!.message).toMatch(/^pH: most readings.*last good value was 8\.11\..*plugged in/);
    // A tenth lets it go after some 22 minutes of good ones, and ten more.
    const told = read(tank, 31, 80, 8.1);
    expect(told).toEqual([expect.stringMatching(/^(6[0-4]) cleared ph\/impossible_value$/)]);
    expect(tank.events.at(-1)!.message).toMatch(/^pH reads plausibly again: 8\.1/);
  });

  test('of a bad reading in five is told, or one that comes and goes never ends', () => {
    const some = new StepTank({ bands: ph });
    const told: string[] = [];
    for (let minute = 0; minute < 300; minute += 1)
      told.push(...read(some, minute, minute, minute % 5 === 0 ? bad : 8.1));
    // Not as one that fails altogether: as a probe of which a share fails.
    expect(told).toEqual([expect.stringMatching(/^10\d raised ph\/impossible_value\/often$/)]);
    const often = new StepTank({ bands: ph });
    read(often, 0, 20, 8.1);
    for (const from of [21, 121, 221]) {
      read(often, from, from + 19, bad);
      read(often, from + 20, from + 99, 8.1);
    }
    expect(often.events.map(({ state }) => state)).toEqual(['raised', 'cleared', 'raised']);
    // It stays for two hours after the third; by then not one bad reading is left in its share.
    expect([...read(often, 321, 500, 8.1), ...often.tick(501)]).toHaveLength(1);
    expect(often.series('ph').bad.share).toBe(0);
  });

  test('that is mended stays stuck', () => {
    const tank = new StepTank({ bands: ph });
    for (let minute = 0; minute <= 250; minute += 1) tank.read(minute, 8.1, { metric: 'ph' });
    expect(tank.events.map(({ rule }) => rule)).toEqual(['flat_line']);
    // The first other number may be a flicker; from the second on it moves, and ten minutes later it is over.
    expect(read(tank, 251, 270, 8.2)).toEqual(['262 cleared ph/flat_line']);
    expect(tank.events.at(-1)!.message).toMatch(/^pH moves again: 8\.2/);
  });

  test('whose rule is off is told', () => {
    const tank = new StepTank({ bands: ph, overrides: [{ rule: 'impossible_value', enabled: false }] });
    expect(read(tank, 0, 60, bad)).toEqual([]);
    const stuck = new StepTank({ bands: ph, overrides: [{ rule: 'flat_line', enabled: false }] });
    expect(Array.from({ length: 400 }, (_, at) => stuck.read(at, 8.1, { metric: 'ph' })).flat()).toEqual([]);
  });

  test('that shows one doubtful number for hours is not called stuck', () => {
    const tank = new StepTank({ bands: ph, overrides: [{ rule: 'impossible_value', enabled: false }] });
    const told: string[] = [];
    for (let minute = 0; minute <= 240; minute += 1) {
      told.push(...tank.read(minute, { flag: 'suspect', value: 8.1, why: 'flat' }, { metric: 'ph' }));
    }
    expect(told).toEqual(['raised ph/flat_line']);
  });
});

describe('two thermometers', () => {
  const wide: Bands = { temperature: { low: 10, high: 40, mostPerHour: 50 } };
  const both = (tank: StepTank, from: number, to: number, left: number | undefined, right: number | undefined) => {
    const told: string[] = [];
    for (let minute = from; minute <= to; minute += 1) {
      const moved = (minute % 3) / 100;
      if (right !== undefined) told.push(...tank.read(minute, right + moved, { probe: 'right' }));
      if (left !== undefined) told.push(...tank.read(minute, left + moved, { probe: 'left' }));
    }
    return told;
  };

  test('that disagree are told by each of them, or one of them long gone still has a say', () => {
    const tank = new StepTank({ bands: wide });
    // An hour of it; the one whose name comes first tells it, though it came second.
    expect(both(tank, 0, 90, 25, 26)).toEqual([expect.stringMatching(/^raised temperature\/probes_disagree/)]);
    expect(tank.events[0]!.alarm).toContain('left');
    expect(tank.events[0]!.message).toMatch(/differ by 1 °C for \d+ min\. Check right first|Check left first/);
    const gone = new StepTank({ bands: wide });
    both(gone, 0, 20, 25, 26);
    expect(both(gone, 21, 200, 25, undefined)).toEqual([]);
    // Where they agree within six tenths nothing is said.
    expect(both(new StepTank({ bands: wide }), 0, 120, 25, 25.59)).toEqual([]);
  });

  test('in two systems are held against each other', () => {
    const tank = new StepTank({ bands: wide });
    const told: string[] = [];
    for (let minute = 0; minute <= 120; minute += 1) {
      told.push(...tank.read(minute, 25 + (minute % 3) / 100, { probe: 'left' }));
      told.push(...tank.read(minute, 30 + (minute % 3) / 100, { probe: 'right', system: 'sump' }));
    }
    expect(told).toEqual([]);
  });
});

test('a rule of a stream that was switched off leaves its alarm standing for ever', () => {
  const tank = new StepTank();
  tank.readFrom(0, 10, 30);
  expect(tank.events.map(({ state }) => state)).toEqual(['raised']);
  const off = new StepTank({ overrides: [{ rule: 'out_of_band', enabled: false }] });
  off.state = JSON.parse(JSON.stringify(tank.state)) as RoomState;
  expect(off.tick(11)).toEqual(['cleared temperature/out_of_band/high']);
  expect(off.events[0]!.message).toBe('This rule was switched off.');
  // Changed in its priority it stands, and says so from its next event on.
  const low = new StepTank({ overrides: [{ rule: 'out_of_band', priority: 'low' }] });
  low.state = JSON.parse(JSON.stringify(tank.state)) as RoomState;
  expect(low.tick(11)).toEqual([]);
  low.readFrom(11, 25, 25.6);
  expect(low.events).toMatchObject([{ state: 'cleared', priority: 'low', value: 25.6 }]);
});

test('a system that was taken out of the configuration stops the rest', () => {
  const tank = new StepTank();
  tank.readFrom(0, 10, 30, { system: 'sump' });
  tank.readFrom(0, 3, 25.5);
  const rules = rulesForRoom({
    systems: [{ id: 'tank', name: 'tank', volumeL: 400, bands: temperatureBand, probes: [] }],
    overrides: [],
  });
  const state = JSON.parse(JSON.stringify(tank.state)) as RoomState;
  expect(indexOf(rules, state, mondayMs).streams).toHaveLength(1);
  expect(stepRoom(rules, state, { is: 'time' }, mondayMs + 12 * minuteMs).events).toEqual([]);
  expect(alarmsOf(rules, state, mondayMs + 12 * minuteMs)).toEqual([]);
  // The index is made once for these rules, and again for others.
  expect(indexOf(rules, state, mondayMs)).toBe(indexOf(rules, state, mondayMs));
  expect(indexOf(tank.rules, state, mondayMs).streams).toHaveLength(2);
  expect(streamOf(indexOf(rules, state, mondayMs), { system: 'sump', metric: 'ph', probe: 'x' })).toBeUndefined();
});

test('time is looked at more often than each five seconds, or the list of a quiet step can be written to', () => {
  const tank = new StepTank({ probes: [{ id: 'one', metric: 'temperature' }] });
  tank.tick(0);
  expect(tank.state.scannedMs).toBe(mondayMs);
  expect(tank.state.series).toEqual([]);
  tank.tick(4.999 / 60);
  expect(tank.state.series).toEqual([]);
  tank.tick(5 / 60);
  expect(tank.state.series.map(({ probe }) => probe)).toEqual(['one']);
  expect(tank.state).toMatchObject({ startedMs: mondayMs, nowMs: mondayMs + 5000, scannedMs: mondayMs + 5000 });
  // The clock steps back: listening, and looking, begin anew.
  tank.tick(-60);
  expect(tank.state).toMatchObject({ listeningSinceMs: mondayMs - hourMs, scannedMs: mondayMs - hourMs });
  expect(tank.state.startedMs).toBe(mondayMs);
  const quiet = stepRoom(tank.rules, tank.state, { is: 'time' }, mondayMs - hourMs);
  expect(() => quiet.events.push({} as AlarmEvent)).toThrow();
});
