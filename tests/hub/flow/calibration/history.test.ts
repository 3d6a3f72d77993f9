import { expect, test } from 'vitest';
import type { Metric } from '#rules/quantity/metric.ts';
import { referenceTable } from '../../../rules/seawater/reference-table.ts';
import { calibratedRoom, hourMs, iso, minuteMs, scratchPath, startMs } from './calibrated-room.ts';

const thermometer = [{ id: 't', metric: 'temperature' as const }];
const linear = (slope: number, offset: number, more: object = {}) => ({
  ...{ kind: 'linear', probe: 't', slope, offset },
  ...more,
});
const refusal = (work: Promise<unknown>) =>
  work.then(
    () => 'applied',
    (error: { problem?: string }) => error.problem,
  );

test('readings before the second of two calibrations lose the first', () => {
  const room = calibratedRoom({ probes: thermometer });
  room.send('t', 25, startMs);
  room.at(startMs + hourMs);
  room.enter(linear(1, 0.5));
  room.send('t', 25, startMs + 2 * hourMs);
  room.at(startMs + 3 * hourMs);
  room.enter(linear(1, 1));
  room.send('t', 25, startMs + 4 * hourMs);
  // One that was held up on its way is corrected by the calibration of its own time.
  room.send('t', 25, startMs + 2.5 * hourMs);
  room.send('t', 25, startMs + 0.5 * hourMs);
  expect(room.values('t')).toEqual([25, 25, 25.5, 25.5, 26]);
});

test('a calibration applied to history and then its inverse leave other values than before', async () => {
  const room = calibratedRoom({ probes: thermometer });
  for (let n = 0; n < 300; n += 1) room.send('t', 25 + Math.sin(n / 40), startMs + n * minuteMs);
  const before = room.readings('t');
  const hoursBefore = room.store.summaries(room.series('t'), 'hour', 0, Number.MAX_SAFE_INTEGER);
  const { id } = room.enter(linear(1.03, -0.4));
  const [fromMs, toMs] = [startMs + 30 * minuteMs, startMs + 200 * minuteMs];
  const done = await room.apply(id, fromMs, toMs);
  expect(done).toMatchObject({ readings: 170, derived: { salinity: 0, specificGravity: 0 } });
  for (const [n, { timeMs, value }] of room.readings('t').entries()) {
    const old = before[n]!.value;
    expect(value).toBeCloseTo(timeMs >= fromMs && timeMs < toMs ? old * 1.03 - 0.4 : old, 12);
  }
  const back = room.enter(linear(1, 0));
  expect(await room.apply(back.id, fromMs, toMs)).toMatchObject({ readings: 170 });
  const after = room.readings('t');
  expect(after.map(({ flag }) => flag)).toEqual(before.map(({ flag }) => flag));
  for (const [n, { value }] of after.entries()) expect(Math.abs(value - before[n]!.value)).toBeLessThan(1e-13 * 25);
  const hours = room.store.summaries(room.series('t'), 'hour', 0, Number.MAX_SAFE_INTEGER);
  for (const [n, hour] of hours.entries()) {
    expect(hour.count).toBe(hoursBefore[n]!.count);
    expect(hour.mean).toBeCloseTo(hoursBefore[n]!.mean, 11);
    expect(hour.max).toBeCloseTo(hoursBefore[n]!.max, 11);
  }
});

test('a calibration applied twice corrects twice', async () => {
  const room = calibratedRoom({ probes: thermometer });
  for (let n = 0; n < 200; n += 1) room.send('t', 25 + n / 1000, startMs + n * minuteMs);
  const { id } = room.enter(linear(1.01, 0));
  const first = await room.apply(id, startMs + 50 * minuteMs, startMs + 500 * minuteMs);
  expect(first.readings).toBe(150);
  const once = room.readings('t');
  const second = await room.apply(id, startMs + 50 * minuteMs, startMs + 500 * minuteMs);
  expect(second).toMatchObject({ readings: 0, note: undefined });
  // A wider span corrects only what was left.
  expect((await room.apply(id, startMs, startMs + 500 * minuteMs)).readings).toBe(50);
  expect(room.readings('t').slice(50)).toEqual(once.slice(50));
  const notes = room.store.journal({ kind: 'note' });
  expect(notes.map(({ body }) => [body['calibration'], body['readings'], body['from']])).toEqual([
    [id, 150, iso(startMs + 50 * minuteMs)],
    [id, 50, iso(startMs)],
  ]);
  // What comes after is corrected once as well.
  room.send('t', 25, startMs + 210 * minuteMs);
  expect(room.values('t').at(-1)).toBe(25.25);
});

test('the salinity of last week stays wrong after the cell factor of its probe was found', async () => {
  // Below 10 °C the quality stage doubts the thermometer, and no salinity is computed.
  const rows = referenceTable('seawater-practical-salinity', 207).filter(
    (row) => row.number('practical_salinity') > 4 && row.number('temperature_C') >= 10,
  );
  expect(rows.length).toBeGreaterThan(50);
  const room = calibratedRoom({
    probes: [...thermometer, { id: 'ec', metric: 'conductivity', temperature_probe: 't' }],
  });
  // Forty minutes between rows: the water of one has nothing to do with that of the next.
  const timeOf = (place: number) => startMs + place * 40 * minuteMs;
  for (const [place, row] of rows.entries()) {
    room.send('t', row.number('temperature_C'), timeOf(place));
    // The cell shows 3 % too little.
    room.send('ec', row.number('conductivity_mS_cm') / 1.03, timeOf(place));
  }
  const salinity = () => room.readings('ec', 'salinity');
  expect(salinity()).toHaveLength(rows.length);
  const target = rows.findIndex((row) => Math.abs(row.number('practical_salinity') - 35) < 0.01);
  expect(salinity()[target]?.value).toBeLessThan(34.2);
  const standard = { standard: { seawater_salinity: 35 }, standard_temperature_C: 15 };
  // Seawater of 35 at 15 °C (ITS-90) by the same table: the probe shows 3 % less.
  const at15 = rows.find(
    (row) => row.number('temperature_C') === 15 && Math.abs(row.number('practical_salinity') - 35) < 1e-6,
  );
  const shown_mS_cm = (at15?.number('conductivity_mS_cm') ?? Number.NaN) / 1.03;
  const { id, body } = room.enter({ kind: 'cell', probe: 'ec', ...standard, shown_mS_cm });
  expect(body.verdict.cell_factor).toBeCloseTo(1.03, 8);
  const done = await room.apply(id, startMs, timeOf(rows.length));
  expect(done.readings).toBe(rows.length);
  expect(done.derived.salinity).toBe(rows.length);
  expect(done.derived.specificGravity).toBe(rows.length);
  for (const [place, row] of rows.entries()) {
    expect(salinity()[place]?.timeMs).toBe(timeOf(place));
    // PSS-78 by the table of the fixture (GSW).
    expect(Math.abs(salinity()[place]!.value - row.number('practical_salinity'))).toBeLessThan(1e-6);
  }
  const hour = room.store.summaries(room.series('ec', 'salinity'), 'hour', startMs, startMs + hourMs)[0];
  const inFirstHour = [0, 1].map((place) => rows[place]!.number('practical_salinity'));
  expect(hour?.mean).toBeCloseTo((inFirstHour[0]! + inFirstHour[1]!) / 2, 6);
});

test('the salinity keeps the old temperature after the thermometer of its water was corrected', async () => {
  const room = calibratedRoom({
    probes: [...thermometer, { id: 'ec', metric: 'conductivity', temperature_probe: 't' }],
  });
  // C(35, 15 °C) is 42.914 mS/cm (Culkin & Smith 1980); the thermometer shows 15.5.
  room.send('t', 15.5, startMs);
  room.send('ec', 42.914, startMs + minuteMs);
  expect(room.values('ec', 'salinity')[0]).toBeLessThan(34.7);
  const { id } = room.enter(linear(1, -0.5));
  const done = await room.apply(id, startMs, startMs + 1);
  expect(done).toMatchObject({ readings: 1, derived: { salinity: 1, specificGravity: 1 } });
  expect(room.values('ec', 'salinity')[0]).toBeCloseTo(35, 2);
  expect(room.values('ec')).toEqual([42.914]);
});

test('a salinity that could not be had before the calibration is not there after it', async () => {
  const room = calibratedRoom({
    probes: [...thermometer, { id: 'ec', metric: 'conductivity', temperature_probe: 't' }],
  });
  room.send('t', 25, startMs);
  // Sent as µS/cm by mistake: impossible, kept as failed, and without a salinity.
  room.send('ec', 53_000, startMs + minuteMs);
  expect(room.readings('ec')).toMatchObject([{ value: 53_000, flag: 'fail' }]);
  expect(room.readings('ec', 'salinity')).toEqual([]);
  const { id } = room.enter(linear(0.001, 0, { probe: 'ec' }));
  await room.apply(id, startMs, startMs + hourMs);
  expect(room.readings('ec')).toMatchObject([{ value: 53, flag: 'pass' }]);
  // 53.09 mS/cm is seawater of 35 at 25 °C (PSS-78, from memory to a tenth).
  expect(room.values('ec', 'salinity')[0]).toBeCloseTo(35, 0);
  // And back: the salinity of an impossible conductivity is no salinity.
  const back = room.enter(linear(1, 0, { probe: 'ec' }));
  await room.apply(back.id, startMs, startMs + hourMs);
  expect(room.readings('ec', 'salinity')).toMatchObject([{ flag: 'fail' }]);
});

test('a pH history is corrected at another temperature than its electrode had', async () => {
  const probes = [...thermometer, { id: 'ph', metric: 'ph' as const, temperature_probe: 't' }];
  const room = calibratedRoom({ probes });
  // The electrode: -8 mV at pH 7, 97 % of the Nernst slope (59.159 mV at 25 °C, 58.167 at 20 °C); the meter takes 25 °C.
  const shown = (slope_mV: number, ph: number) => 7 + (8 + 0.97 * slope_mV * (ph - 7)) / 59.159;
  for (let n = 0; n < 6; n += 1) {
    room.send('t', n % 2 === 0 ? 20 : 25, startMs + n * hourMs);
    room.send('ph', shown(n % 2 === 0 ? 58.167 : 59.159, 8.1), startMs + n * hourMs + minuteMs);
  }
  const before = room.values('ph');
  expect(before[0]).toBe(shown(58.167, 8.1));
  const buffers = [6.865, 9.18].map((ph) => ({ ph, shown_ph: shown(59.159, ph), temperature_C: 25 }));
  const { id } = room.enter({ kind: 'ph', probe: 'ph', buffers });
  expect((await room.apply(id, startMs, startMs + 7 * hourMs)).readings).toBe(6);
  for (const value of room.values('ph')) expect(value).toBeCloseTo(8.1, 3);
  const back = room.enter(linear(1, 0, { probe: 'ph' }));
  await room.apply(back.id, startMs, startMs + 7 * hourMs);
  for (const [n, value] of room.values('ph').entries()) expect(value).toBeCloseTo(before[n]!, 12);
});

test('a restart forgets the calibrations, or what corrected the stored readings', async () => {
  const path = scratchPath();
  const probes = (offset: number) => [{ id: 't', metric: 'temperature' as const, calibration: { slope: 1, offset } }];
  let room = calibratedRoom({ probes: probes(0.5), path });
  room.send('t', 25, startMs);
  room.close();
  // The file says another offset now; what is stored was corrected by the old one.
  room = calibratedRoom({ probes: probes(0.7), path });
  room.send('t', 25, startMs + minuteMs);
  const { id } = room.enter(linear(1, 1));
  room.send('t', 25, startMs + 2 * minuteMs);
  room.close();
  room = calibratedRoom({ probes: probes(0.7), path });
  room.send('t', 25, startMs + 3 * minuteMs);
  expect(room.values('t')).toEqual([25.5, 25.7, 26, 26]);
  await room.apply(id, startMs, startMs + hourMs);
  expect(room.values('t')).toEqual([26, 26, 26, 26]);
  expect(room.calibrations.of(room.calibrations.probe('t'))).toMatchObject([
    { entry: { id, timeMs: startMs + minuteMs }, body: { by: 'Ana', why: 'a routine', kind: 'linear' } },
  ]);
});

test('a calibration that was taken back goes on correcting, or its readings are taken for raw', async () => {
  const room = calibratedRoom({ probes: thermometer });
  const { id } = room.enter(linear(1, 1));
  room.send('t', 25, startMs + minuteMs);
  const entry = room.store.journal({ kind: 'calibration' })[0]!;
  room.store.commit({ entries: [{ ...entry, corrects: entry.id, isWithdrawn: true }] });
  room.calibrations.refresh();
  room.send('t', 25, startMs + 2 * minuteMs);
  expect(room.values('t')).toEqual([26, 25]);
  expect(await refusal(room.apply(id, startMs, startMs + hourMs))).toBe('unknown_calibration');
  const right = room.enter(linear(1, 0.25));
  await room.apply(right.id, startMs, startMs + hourMs);
  expect(room.values('t')).toEqual([25.25, 25.25]);
});

test('history is corrected where what the probe sent cannot be had again', async () => {
  const path = scratchPath();
  const probes = (signal: string) => [{ id: 'ph', metric: 'ph' as Metric, signal }, ...thermometer];
  const room = calibratedRoom({ probes: probes('ph'), path });
  for (let n = 0; n < 40; n += 1) {
    room.send('ph', 8.1, startMs + n * 10 * minuteMs);
    room.send('t', 25, startMs + n * 10 * minuteMs);
  }
  const { id } = room.enter(linear(1, 0.5));
  room.store.dropReadingsBefore(startMs + 90 * minuteMs);
  const kept = room.readings('t');
  const work = room.apply(id, startMs, startMs + 400 * minuteMs);
  await expect(work).rejects.toMatchObject({ problem: 'raw_value_not_recoverable' });
  await expect(work).rejects.toThrow(iso(startMs + 90 * minuteMs));
  // Of the hour that lost its first half the summary cannot be computed anew.
  const amid = room.apply(id, startMs + 90 * minuteMs, startMs + 400 * minuteMs);
  await expect(amid).rejects.toThrow(iso(startMs + 120 * minuteMs));
  expect(room.readings('t')).toEqual(kept);
  expect((await room.apply(id, startMs + 120 * minuteMs, startMs + 400 * minuteMs)).readings).toBe(28);
  expect(await refusal(room.apply(id, startMs + 400 * minuteMs, startMs + 500 * minuteMs))).toBe('out_of_range');
  room.close();

  const inMillivolts = calibratedRoom({ probes: probes('mV'), path });
  inMillivolts.at(startMs + 400 * minuteMs);
  const buffers = [{ ph: 7, potential_mV: 3, temperature_C: 25 }];
  const electrode = inMillivolts.enter({ kind: 'ph', probe: 'ph', buffers });
  const span = [startMs + 120 * minuteMs, startMs + 400 * minuteMs] as const;
  expect(await refusal(inMillivolts.apply(electrode.id, ...span))).toBe('raw_value_not_recoverable');
});

test('two people who correct history at once correct it twice', async () => {
  const room = calibratedRoom({ probes: thermometer });
  for (let n = 0; n < 200; n += 1) room.send('t', 25, startMs + n * minuteMs);
  const { id } = room.enter(linear(1, 1));
  const first = room.apply(id, startMs, startMs + 200 * minuteMs);
  const second = room.apply(id, startMs, startMs + 200 * minuteMs);
  expect(await refusal(second)).toBe('busy');
  // The room goes on between two hours: a late reading of the corrected time is corrected once.
  room.send('t', 25, startMs + 30_000);
  room.send('t', 25, startMs + 199.5 * minuteMs);
  await first;
  expect(new Set(room.values('t'))).toEqual(new Set([26]));
  expect(room.values('t')).toHaveLength(202);
});

test('the hub is stopped amid the correction of history, and half of it stays uncorrected', async () => {
  const path = scratchPath();
  const probes = [...thermometer, { id: 'ec', metric: 'conductivity' as const, temperature_probe: 't' }];
  const run = (calls: number) => {
    let left = calls;
    return calibratedRoom({
      ...{ probes, path },
      over: (store) => ({
        rewrite: (...given) => {
          left -= 1;
          if (left < 0) throw new Error('stopped');
          return store.rewrite(...given);
        },
      }),
    });
  };
  let room = run(0);
  for (let n = 0; n < 300; n += 1) {
    room.send('t', 25, startMs + n * minuteMs);
    room.send('ec', 51, startMs + n * minuteMs);
  }
  const { id } = room.enter({ kind: 'linear', probe: 'ec', slope: 1.04, offset: 0 });
  const salinity = room.values('ec', 'salinity')[0] ?? 0;
  await expect(room.apply(id, startMs, startMs + 300 * minuteMs)).rejects.toThrow('stopped');
  for (const calls of [2, 1, 4, 3]) {
    room.close();
    room = run(calls);
    room.at(startMs + 300 * minuteMs);
    await room.history.resume(startMs + 300 * minuteMs).catch(() => undefined);
    const values = new Set(room.values('ec'));
    for (const value of values) expect([51, 51 * 1.04]).toContain(value);
  }
  room.close();
  room = run(1000);
  room.at(startMs + 300 * minuteMs);
  await room.history.resume(startMs + 300 * minuteMs);
  expect(new Set(room.values('ec'))).toEqual(new Set([51 * 1.04]));
  const after = new Set(room.values('ec', 'salinity'));
  expect(after.size).toBe(1);
  expect([...after][0]).toBeGreaterThan(salinity + 1);
  expect(await room.history.resume(startMs + 300 * minuteMs)).toBeUndefined();
});

test('a full disk amid a correction is called a fault of the hub', async () => {
  const full = Object.assign(new Error('The disk is full.'), { code: 'STORE_DISK_FULL' });
  let isFull = true;
  const room = calibratedRoom({
    probes: thermometer,
    over: (store) => ({
      rewrite: (...given) => {
        if (isFull) throw full;
        return store.rewrite(...given);
      },
    }),
  });
  room.send('t', 25, startMs);
  const { id } = room.enter(linear(1, 1));
  await expect(room.apply(id, startMs, startMs + 1)).rejects.toMatchObject({ problem: 'not_stored' });
  isFull = false;
  await room.apply(id, startMs, startMs + 1);
  expect(room.values('t')).toEqual([26]);
});
