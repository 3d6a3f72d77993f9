import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { writeWholeFile } from '#adapters/csv/write-file.ts';
import type { JournalEntry, Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import { weeklyFiles } from '#hub/reports/week/weekly-files.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';
import { cellsByPython } from '../../../adapters/csv/independent-reader.ts';

/** An invented room. */
const roomText = `site: {name: Fish room, timezone: Europe/Lisbon}
systems:
  - id: display
    name: Display tank
    volume_l: 420
    bands: {temperature: {low: 25.0, high: 26.5}}
probes:
  - {id: t1, system: display, metric: temperature, mqtt: {topic: t1}}
  - {id: t2, system: display, metric: temperature, mqtt: {topic: t2}}
  - {id: ph1, system: display, metric: ph, mqtt: {topic: ph1}}
`;

const loaded = loadConfig(roomText, 'room.yaml', {}, () => '');
if (!loaded.ok) throw new Error(loaded.problems.map(({ text }) => text).join('\n'));
const { config } = loaded;

const folder = mkdtempSync(join(tmpdir(), 'week-test-'));
const clock = createManualClock(Date.parse('2026-04-08T00:00:00Z'));
let store: Store;

function reading(probe: string, metric: Metric, time: string, value: number): Reading {
  return {
    series: { system: 'display', metric, probe },
    timeMs: Date.parse(time),
    quality: { flag: 'pass', value },
  };
}

function entry(kind: JournalEntry['kind'], time: string, body: Record<string, unknown>): JournalEntry {
  const timeMs = Date.parse(time);
  return { kind, timeMs, recordedMs: timeMs, system: 'display', body };
}

/** Every ten minutes of [from, to). */
function steady(probe: string, metric: Metric, from: string, to: string, value: number): Reading[] {
  const readings: Reading[] = [];
  for (let timeMs = Date.parse(from); timeMs < Date.parse(to); timeMs += 600_000) {
    readings.push(reading(probe, metric, new Date(timeMs).toISOString(), value));
  }
  return readings;
}

beforeAll(() => {
  store = openStore({ path: join(folder, 'room.db'), flushMs: 60_000, clock });
  store.add([
    reading('t1', 'temperature', '2026-03-23T00:00:10Z', 25.0),
    reading('t1', 'temperature', '2026-03-23T00:00:40Z', 25.2),
    reading('t1', 'temperature', '2026-03-23T00:01:10Z', 26.6),
    reading('t1', 'temperature', '2026-03-23T12:00:00Z', 26.4),
    reading('t2', 'temperature', '2026-03-23T00:00:30Z', 24.0),
    // Sunday 29 March has 23 hours in Lisbon: it ends at 23:00 UTC.
    ...steady('t1', 'temperature', '2026-03-29T00:00:00Z', '2026-03-29T23:00:00Z', 25.5),
    reading('ph1', 'ph', '2026-03-29T22:59:59Z', 8.05),
    reading('ph1', 'ph', '2026-03-29T23:00:00Z', 7.5),
    // Sunday 25 October has 25 hours: from 24 October 23:00 UTC to 26 October 00:00 UTC.
    ...steady('t1', 'temperature', '2026-10-24T23:00:00Z', '2026-10-26T00:00:00Z', 26.5),
  ]);
  store.flush();
  store.commit({
    entries: [
      entry('test', '2026-03-24T08:00:00Z', {
        analyte: 'alkalinity',
        value: 8.2,
        sd: 0.1,
        given_value: 146.4,
        given_unit: 'mg/L CaCO3',
        by: 'Ana',
      }),
      entry('dose', '2026-03-29T01:30:00Z', { stock: 'soda', ml: 60, note: '=HYPERLINK("http://192.0.2.1")' }),
      entry('water_change', '2026-03-29T12:00:00Z', {
        volume_l: 40,
        salinity: 35,
        note: 'two, "old" buckets\nof salt',
      }),
      entry('dose', '2026-03-29T23:00:00Z', { substance: 'sodium_carbonate', grams: 5 }),
      entry('alarm', '2026-03-23T00:03:00Z', {
        timeMs: Date.parse('2026-03-23T00:03:00Z'),
        alarm: 'display/temperature/out_of_band',
        occurrence: 1,
        state: 'raised',
        system: 'display',
        metric: 'temperature',
        rule: 'out_of_band',
        priority: 'high',
        value: 26.6,
        message: 'Display tank: temperature 26.60 °C, band 25 to 26.5. Is the fan running?',
      }),
    ],
  });
});

afterAll(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

const nowMs = () => Date.parse('2027-01-01T00:00:00Z');

/** The cells of a file of the week as another program reads them from the disk. */
async function tableOf(week: string, name: string, now = nowMs): Promise<Record<string, string>[]> {
  const file = weeklyFiles({ config, store, line: csvLine, nowMs: now }, week).find(
    (each) => each.name === `${name}-${week}.csv`,
  );
  const path = join(folder, file!.name);
  await writeWholeFile(path, file!.text);
  expect(readFileSync(path, 'utf8').endsWith('\r\n')).toBe(true);
  const [header, ...rows] = cellsByPython(path);
  return rows.map((cells) => {
    expect(cells).toHaveLength(header!.length);
    return Object.fromEntries(header!.map((column, index) => [column, cells[index]!]));
  });
}

describe('the figures of each day', () => {
  test('are those worked by hand, and the second probe of a metric stands in a row of its own', async () => {
    const rows = await tableOf('2026-W13', 'daily');
    expect(rows).toHaveLength(14);
    // Monday, probe t1: minute 00:00 has 25.0 and 25.2, so its mean is 25.1, inside 25 to 26.5; minute 00:01 has 26.6,
    // outside; minute 12:00 has 26.4, inside.
    //   mean of the three minutes  (25.1 + 26.6 + 26.4) / 3 = 78.1 / 3 = 26.0333
    //   inside                     2 of 3 minutes = 66.67 %
    //   gaps                       00:02 to 12:00 = 718 min, 12:01 to 24:00 = 719 min
    expect(rows[0]).toEqual({
      date: '2026-03-23',
      day_start: '2026-03-23T00:00:00+00:00',
      day_length_hours: '24',
      system: 'display',
      probes: 'temperature=t1 ph=ph1',
      temperature_min_C: '25',
      temperature_mean_C: '26.0333',
      temperature_max_C: '26.6',
      temperature_inside_band_percent: '66.67',
      temperature_readings: '4',
      temperature_gaps: '2',
      temperature_longest_gap_minutes: '719',
      ph_min: '',
      ph_mean: '',
      ph_max: '',
      ph_inside_band_percent: '',
      ph_readings: '0',
      ph_gaps: '1',
      ph_longest_gap_minutes: '1440',
    });
    // Probe t2: one reading of 24.0 in minute 00:00, outside; a gap of 1439 minutes follows.
    expect(rows[1]).toMatchObject({
      date: '2026-03-23',
      probes: 'temperature=t2',
      temperature_mean_C: '24',
      temperature_inside_band_percent: '0',
      temperature_readings: '1',
      temperature_gaps: '1',
      temperature_longest_gap_minutes: '1439',
      ph_readings: '',
    });
    // Tuesday: nothing was heard, and no number pretends that something was.
    expect(rows[2]).toMatchObject({
      date: '2026-03-24',
      temperature_min_C: '',
      temperature_mean_C: '',
      temperature_inside_band_percent: '',
      temperature_readings: '0',
      temperature_longest_gap_minutes: '1440',
    });
  });

  test('the short Sunday in spring has 23 hours and no gap for the hour that never was', async () => {
    const sunday = (await tableOf('2026-W13', 'daily')).find(
      ({ date, probes }) => date === '2026-03-29' && probes!.includes('t1'),
    );
    // A reading every ten minutes for 23 hours: 23 * 6 = 138. pH: one reading in the last minute, 8.05; 22 h 59 min before it.
    expect(sunday).toMatchObject({
      day_start: '2026-03-29T00:00:00+00:00',
      day_length_hours: '23',
      temperature_mean_C: '25.5',
      temperature_inside_band_percent: '100',
      temperature_readings: '138',
      temperature_gaps: '0',
      temperature_longest_gap_minutes: '0',
      ph_min: '8.05',
      ph_max: '8.05',
      ph_readings: '1',
      ph_longest_gap_minutes: '1379',
    });
  });

  test('the long Sunday in autumn has 25 hours with all of their readings', async () => {
    const rows = await tableOf('2026-W43', 'daily');
    // 25 * 6 = 150; 26.5 is the high edge itself, and the edge belongs to the band.
    expect(rows.at(-1)).toMatchObject({
      date: '2026-10-25',
      day_start: '2026-10-25T00:00:00+01:00',
      day_length_hours: '25',
      temperature_readings: '150',
      temperature_gaps: '0',
      temperature_inside_band_percent: '100',
    });
    expect(rows).toHaveLength(7);
  });

  test('in a week that is running, the days to come are no gaps', async () => {
    const rows = await tableOf('2026-W13', 'daily', () => Date.parse('2026-03-23T12:10:00Z'));
    expect(rows.map(({ date }) => date)).toEqual(['2026-03-23', '2026-03-23']);
    expect(rows[0]).toMatchObject({ temperature_gaps: '1', temperature_longest_gap_minutes: '718' });
  });

  test('a week without a reading is a file with a header, not an error', async () => {
    expect(await tableOf('2026-W20', 'daily')).toEqual([]);
  });
});

describe('tests and doses', () => {
  test('stand with units, in the time of the room, with notes that cannot run', async () => {
    const rows = await tableOf('2026-W13', 'tests-doses');
    expect(rows.map(({ time, kind }) => [time, kind])).toEqual([
      ['2026-03-24T08:00:00+00:00', 'test'],
      ['2026-03-29T02:30:00+01:00', 'dose'],
      ['2026-03-29T13:00:00+01:00', 'water_change'],
    ]);
    expect(rows[0]).toMatchObject({
      analyte: 'alkalinity',
      value: '8.2',
      unit: 'dKH',
      sd: '0.1',
      given_value: '146.4',
      given_unit: 'mg/L CaCO3',
      by: 'Ana',
    });
    expect(rows[1]).toMatchObject({ stock: 'soda', stock_ml: '60', unit: '', note: `'=HYPERLINK("http://192.0.2.1")` });
    expect(rows[2]).toMatchObject({
      water_changed_l: '40',
      new_water_salinity: '35',
      note: 'two, "old" buckets\nof salt',
    });
  });

  test('a dose at the first moment of Monday is in the new week alone', async () => {
    expect((await tableOf('2026-W14', 'tests-doses')).map(({ time, substance_g }) => [time, substance_g])).toEqual([
      ['2026-03-30T00:00:00+01:00', '5'],
    ]);
  });

  test('a test that was corrected appears once, as corrected', async () => {
    const [id] = store.commit({
      entries: [entry('test', '2026-04-07T08:00:00Z', { analyte: 'calcium', value: 4200 })],
    });
    store.commit({
      entries: [{ ...entry('test', '2026-04-07T08:00:00Z', { analyte: 'calcium', value: 420 }), corrects: id! }],
    });
    expect((await tableOf('2026-W15', 'tests-doses')).map(({ value, unit }) => [value, unit])).toEqual([
      ['420', 'mg/L'],
    ]);
  });
});

test('alarms stand with their value, unit and the words that the keeper got', async () => {
  expect(await tableOf('2026-W13', 'alarms')).toEqual([
    {
      time: '2026-03-23T00:03:00+00:00',
      system: 'display',
      metric: 'temperature',
      rule: 'out_of_band',
      priority: 'high',
      state: 'raised',
      value: '26.6',
      unit: '°C',
      by: '',
      message: 'Display tank: temperature 26.60 °C, band 25 to 26.5. Is the fan running?',
      alarm: 'display/temperature/out_of_band',
      occurrence: '1',
      why: '',
    },
  ]);
});

test('a text that names no week has no files', () => {
  expect(weeklyFiles({ config, store, line: csvLine, nowMs }, '2025-W53')).toEqual([]);
});

test('a coral that was lost is told with its cause, and a room without a register gets no empty file', async () => {
  const names = () => weeklyFiles({ config, store, line: csvLine, nowMs }, '2026-W16').map(({ name }) => name);
  expect(names()).toEqual(['daily-2026-W16.csv', 'tests-doses-2026-W16.csv', 'alarms-2026-W16.csv']);
  const piece = { piece: 'p7', kind: 'Acropora, invented' };
  store.commit({
    entries: [
      entry('piece', '2026-04-13T08:00:00Z', { ...piece, event: 'added', place: 'rack 2' }),
      entry('piece', '2026-04-15T08:00:00Z', { piece: 'p7', event: 'lost', cause: 'pest', note: '=1+1' }),
    ],
  });
  expect(names()).toContain('corals-2026-W16.csv');
  expect(
    (await tableOf('2026-W16', 'corals')).map(({ time, event, piece: id, cause, note }) => [
      time,
      event,
      id,
      cause,
      note,
    ]),
  ).toEqual([
    ['2026-04-13T09:00:00+01:00', 'added', 'p7', '', ''],
    ['2026-04-15T09:00:00+01:00', 'lost', 'p7', 'pest', "'=1+1"],
  ]);
});
