import { expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';

const startMs = Date.UTC(2026, 0, 5);
const minuteMs = 60_000;
const rules = rulesForRoom({
  systems: [
    {
      ...{ id: 'tank', name: 'Tank', volumeL: 400 },
      bands: { ph: { low: 7.9, high: 8.4 }, alkalinity: { low: 7.5, high: 9 } },
      probes: [{ id: 'glass', metric: 'ph' }],
    },
  ],
  overrides: [],
});

/** The first sentence about a pH out of its band, half an hour after what is given. */
function sentence(ph: number, before: readonly Evidence[]): string {
  let state = emptyRoomState();
  const messages: string[] = [];
  const offer = (what: Evidence, nowMs: number): void => {
    const stepped = stepRoom(rules, state, what, nowMs);
    state = stepped.state;
    messages.push(
      ...stepped.events
        .filter(({ rule, metric }) => rule === 'out_of_band' && metric === 'ph')
        .map(({ message }) => message),
    );
  };
  for (const what of before) offer(what, startMs);
  for (let minute = 1; minute <= 40; minute += 1) {
    const nowMs = startMs + minute * minuteMs;
    const series = { system: 'tank', metric: 'ph' as const, probe: 'glass' };
    const value = ph + (minute % 2) / 1000;
    offer({ is: 'reading', reading: { series, timeMs: nowMs, quality: { flag: 'pass', value } } }, nowMs);
  }
  return messages[0] ?? '';
}

const test_ = (value: number): Evidence => ({
  is: 'test',
  system: 'tank',
  analyte: 'alkalinity',
  value,
  timeMs: startMs,
});
const stays: Evidence = { is: 'forecast', system: 'tank', metric: 'alkalinity', probability: 0.02 };
const leaves: Evidence = { ...stays, hoursToLeave: 6, probability: 0.9, side: 'low' };
const dose = (raisesBy: number): Evidence => ({
  is: 'dose',
  system: 'tank',
  analyteRaised: 'alkalinity',
  raisesBy,
  timeMs: startMs,
});
const calibration: Evidence = { is: 'calibration', probe: 'glass', timeMs: startMs };

test('a low pH in a stuffy room calls for a dose', () => {
  expect(sentence(7.8, [test_(8.2), stays])).toContain(
    'Alkalinity is steady (8.20 dKH at the last test): room air is the likely cause',
  );
  expect(sentence(7.8, [test_(8.2), leaves])).not.toContain('room air');
  expect(sentence(7.8, [test_(6.9), stays])).not.toContain('room air');
  // What the sentence rests on: at the same alkalinity a pH lower by 0.3 is a pCO2 more than twice as high (carbonate
  // system by the 2007 Guide, held against fixtures/reference/carbonate-system.csv).
  const water = { salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: 2850 };
  const usual = carbonateFromAlkalinityAndPh({ ...water, phTotal: 8.0 });
  const low = carbonateFromAlkalinityAndPh({ ...water, phTotal: 7.7 });
  expect(low.pco2_uatm / usual.pco2_uatm).toBeGreaterThan(2);
});

test('a high pH after a large dose is not called an overdose', () => {
  expect(sentence(8.5, [test_(8.2), dose(1.5)])).toContain(
    'Doses for 1.5 dKH of alkalinity are on record, the last 11 min ago: likely an overdose.',
  );
  expect(sentence(8.5, [test_(8.2), dose(0.05)])).not.toContain('overdose.');
  // What it rests on: 1.5 dKH (0.535 meq/L, some 522 µmol/kg) as hydroxide lifts the pH by more than 0.3 at once.
  const water = { salinity: 35, temperature_C: 25 };
  const before = carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: 2850, phTotal: 8.0 });
  const after = carbonateFromAlkalinityAndDic({
    ...water,
    totalAlkalinity_umol_kg: 3372,
    dic_umol_kg: before.dic_umol_kg,
  });
  expect(after.phTotal - before.phTotal).toBeGreaterThan(0.3);
});

test('a pH that moved with a calibration is taken for the water', () => {
  expect(sentence(7.8, [test_(8.2), stays, calibration])).toMatch(
    /The probe was calibrated \d+ min ago: check it in a buffer first/,
  );
  expect(sentence(8.5, [dose(1.5), calibration])).toMatch(/The probe was calibrated/);
  const other: Evidence = { ...calibration, probe: 'another' };
  expect(sentence(8.5, [other])).not.toContain('calibrated');
});
