import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { recordRoom } from '#hub/demo/record.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { type VerbEnded, verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Line = { time: string; system: string; metric: string; rule: string; state: string; value: number | null };

const startMs = Date.UTC(2026, 0, 5);
const dayMs = 86_400_000;

/** The invented room of the demonstration: on the second day the display's heater sticks on, five hours later it is mended. */
const recording = {
  ...{ days: 2, everySeconds: 60, seed: 11, fromMs: startMs },
  fault: { system: 'display', kind: 'heater_stuck_on', fromDay: 1, untilDay: 1.2 } as const,
};

const bands = {
  temperature: { low: 24.5, high: 26.6 },
  ph: { low: 7.8, high: 8.6 },
  salinity: { low: 33.5, high: 36.5 },
};
const systems = ['display', 'growout', 'quarantine'].map((id) => ({ id, name: id, volume_l: 300, bands }));

describe('replay of a recorded room in which a heater sticks on', () => {
  const { dir, remove } = scratchRoom();
  const rows = [...recordRoom(recording)];
  const header = rows[0] ?? '';
  const readings = rows.slice(1);
  const file = (name: string, lines: readonly string[]) => {
    const path = join(dir, name);
    writeFileSync(path, `${lines.join('\n')}\n`);
    return path;
  };
  const config = join(dir, 'room.yaml');
  const linesOf = (ended: VerbEnded) =>
    ended.out
      .trimEnd()
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => JSON.parse(line) as Line);
  let whole: VerbEnded;

  beforeAll(async () => {
    writeFileSync(config, roomText(dir, { systems }));
    whole = await verbHere(['replay', config, file('whole.csv', rows), '--json']);
  });
  afterAll(remove);

  test('the keeper cannot see when the alarm would have come', () => {
    expect(whole.code).toBe(0);
    const heat = linesOf(whole).filter(({ rule, metric }) => rule === 'out_of_band' && metric === 'temperature');
    expect(heat.map(({ system, state }) => `${system} ${state}`)).toEqual(['display raised', 'display cleared']);
    const [raised, cleared] = heat.map(({ time }) => (Date.parse(time) - startMs) / dayMs);
    expect(raised).toBeGreaterThan(1);
    expect(raised).toBeLessThan(1.2);
    expect(cleared).toBeGreaterThan(1.2);
    expect(heat[0]?.value).toBeGreaterThan(26.6);
    expect(heat[1]?.value).toBeLessThan(26.6);
  });

  test('a program that reads the lines misses a key, or finds another', () => {
    for (const line of linesOf(whole)) {
      expect(Object.keys(line)).toEqual(['time', 'system', 'metric', 'rule', 'state', 'priority', 'value', 'message']);
      expect(line.time).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/);
      expect(['raised', 'cleared']).toContain(line.state);
    }
    const times = linesOf(whole).map(({ time }) => time);
    expect(times).toEqual(times.toSorted());
  });

  test('a sound day cries wolf', () => {
    const before = linesOf(whole).filter(({ time }) => Date.parse(time) < startMs + dayMs);
    expect(before).toEqual([]);
  });

  test('readings in two files, in whatever order, raise other alarms', async () => {
    const ofDisplay = readings.filter((row) => row.includes(',display,'));
    const ofOthers = readings.filter((row) => !row.includes(',display,'));
    const paths = [file('others.csv', [header, ...ofOthers]), file('display.csv', [header, ...ofDisplay])];
    const two = await verbHere(['replay', config, ...paths]);
    expect(two.code).toBe(0);
    expect(linesOf(two)).toEqual(linesOf(whole));
  });

  test('a file sorted by metric and not by time raises other alarms', async () => {
    const byMetric = readings.toSorted((a, b) => {
      const [, , one = ''] = a.split(',');
      const [, , other = ''] = b.split(',');
      return one < other ? -1 : one > other ? 1 : 0;
    });
    const unsorted = await verbHere(['replay', config, file('unsorted.csv', [header, ...byMetric])]);
    expect(unsorted.code).toBe(0);
    expect(linesOf(unsorted).map(({ time, state, rule, system }) => ({ time, state, rule, system }))).toEqual(
      linesOf(whole).map(({ time, state, rule, system }) => ({ time, state, rule, system })),
    );
  });

  test('one bad row ends the replay, or is passed over in silence', async () => {
    const bad = ['2026-01-05T12:00:00Z,display,temperature,warm', 'yesterday,display,temperature,25', 'half a row'];
    const spoilt = file('spoilt.csv', [header, ...readings.slice(0, 5000), ...bad, ...readings.slice(5000)]);
    const ended = await verbHere(['replay', config, spoilt]);
    expect(ended.code).toBe(1);
    for (const row of [5002, 5003, 5004]) expect(ended.err).toContain(`${spoilt} row ${row}: `);
    expect(linesOf(ended)).toEqual(linesOf(whole));
  });

  test('a tank or a metric that nobody knows is passed over in silence', async () => {
    const odd = [header, '2026-01-05T12:00:00Z,sump,temperature,25', '2026-01-05T12:00:00Z,display,vitality,25'];
    const ended = await verbHere(['replay', config, file('odd.csv', odd)]);
    expect(ended.code).toBe(1);
    expect(ended.err).toContain('1 readings are of a system');
    expect(ended.err).toContain('1 readings are of a metric');
  });

  test('a file that is missing or of another kind ends with a stack trace, or as good', async () => {
    const other = file('other.csv', ['date,tank', '2026-01-05,display']);
    for (const path of [join(dir, 'none.csv'), other, dir]) {
      const ended = await verbHere(['replay', config, path]);
      expect({ path, code: ended.code }).toEqual({ path, code: 2 });
      expect(ended.err).not.toMatch(/^\s+at /m);
    }
  });

  test('a test by hand between the readings is not judged', async () => {
    const tests = file('tests.csv', [
      'time,system,analyte,value,unit,sd',
      '2026-01-05T10:00:00Z,display,alkalinity,8.1,dKH,',
      '2026-01-06T10:00:00Z,display,alkalinity,196.3,mg/L CaCO3,',
      'soon,display,alkalinity,8,dKH,',
    ]);
    const withAlkalinity = systems.map((each) => ({ ...each, bands: { ...bands, alkalinity: { low: 7.5, high: 9 } } }));
    const path = join(dir, 'alkalinity.yaml');
    writeFileSync(path, roomText(dir, { systems: withAlkalinity }));
    const ended = await verbHere(['replay', path, join(dir, 'whole.csv'), '--tests', tests]);
    expect(ended.code).toBe(1);
    expect(ended.err).toContain('row 4');
    const found = linesOf(ended).filter(({ metric, rule }) => metric === 'alkalinity' && rule === 'out_of_band');
    expect(found.map(({ state }) => state)).toEqual(['raised']);
    // 196.3 mg/L CaCO3 / 17.848 = 11.0 dKH: fixtures/reference/unit-conversions.csv.
    expect(found[0]?.value).toBeCloseTo(11, 1);
    expect(found[0]?.time).toMatch(/^2026-01-06T10:0/);
  });
});
