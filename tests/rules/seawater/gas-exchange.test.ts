import { describe, expect, test } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import {
  co2InBalance_umol_kg,
  coefficientAt,
  pco2OfAir_uatm,
  phFromAlkalinityAndPco2,
  schmidtCo2Wanninkhof2014,
  waterVapourWeissPrice1980,
} from '#rules/seawater/gas-exchange.ts';
import { lowPhFrom } from '#rules/seawater/low-ph.ts';
import { referenceTable } from './reference-table.ts';

const rows = referenceTable('carbonate-system', 150).filter((row) => row.text('boron_option') === 'uppstrom1974');
const reef = { salinity: 35, temperature_C: 25 };

describe('gas exchange as published', () => {
  test('the Schmidt number of CO2 differs from the table of Wanninkhof 2014 (table 1, last column: 668 at 20 °C)', () => {
    expect(Math.round(schmidtCo2Wanninkhof2014(20))).toBe(668);
    // The older fit of Wanninkhof 1992, J. Geophys. Res. 97:7373, table A1 (from memory), is another parametrisation of the same measurements.
    const wanninkhof1992 = (t: number): number => 2073.1 - 125.62 * t + 3.6276 * t ** 2 - 0.043219 * t ** 3;
    for (const t of [5, 15, 20, 25, 28])
      expect(Math.abs(schmidtCo2Wanninkhof2014(t) / wanninkhof1992(t) - 1), `${t} °C`).toBeLessThan(0.03);
  });

  test('a coefficient does not go up with warmth as the square root of the Schmidt number goes down', () => {
    expect(coefficientAt(1, 25)).toBe(1);
    // 668 at 20 °C against 472 by the fit of 1992 at 25 °C: a ratio of 1.19, so that water of 20 °C exchanges 8 % more slowly.
    expect(coefficientAt(1, 20)).toBeCloseTo(Math.sqrt(472 / 668), 1);
    expect(coefficientAt(1, 27)).toBeGreaterThan(1);
  });

  test('water vapour differs from the check value of Weiss & Price 1980 as the documentation of a public air-sea flux package gives it', () => {
    expect(waterVapourWeissPrice1980(35, 25)).toBeCloseTo(0.0306553, 7);
    // Steam tables: 3.1699 kPa over pure water at 25 °C (IAPWS, from memory).
    expect((waterVapourWeissPrice1980(0, 25) * 101.325) / 3.1699).toBeCloseTo(1, 2);
  });

  test('water in balance with air holds another CO2 than the solubility of Weiss 1974 gives (ln K0 = -3.5617, Guide 2007)', () => {
    const fugacity_uatm = pco2OfAir_uatm(420, reef) * 0.9968;
    expect(co2InBalance_umol_kg(420, reef) / (fugacity_uatm * Math.exp(-3.5617)) - 1).toBeCloseTo(0, 3);
    expect(() => pco2OfAir_uatm(-1, reef)).toThrow(OutOfRange);
  });

  test('pH from alkalinity and pCO2 differs from the table', () => {
    let worst = 0;
    for (const row of rows) {
      const found = phFromAlkalinityAndPco2(
        {
          ...{ salinity: row.number('salinity'), temperature_C: row.number('temperature_C') },
          totalAlkalinity_umol_kg: row.number('total_alkalinity_umol_kg'),
        },
        row.number('pco2_uatm'),
      );
      worst = Math.max(worst, Math.abs(found - row.number('ph_total')));
    }
    console.log(`worst pH from alkalinity and pCO2 ${worst.toExponential(1)} in ${rows.length} rows`);
    expect(worst).toBeLessThan(1e-6);
    expect(() => phFromAlkalinityAndPco2({ ...reef, totalAlkalinity_umol_kg: 2300 }, 5)).toThrow(OutOfRange);
  });
});

describe('how much of a low pH is room air', () => {
  const water = { ...reef, totalAlkalinity_umol_kg: 2300 };

  test('a pH that is all room air is laid to the tank', () => {
    // The table: alkalinity 2300, pH 8.0 and 451.567 µatm belong together; that much is over water in a room of 465.8 ppm.
    const room_ppm = 451.567083 / (1 - 0.0306553);
    const found = lowPhFrom({ ...water, pco2_uatm: 451.567083, room_ppm });
    expect(found.phNow).toBeCloseTo(8, 6);
    expect(found.phInRoomAir).toBeCloseTo(8, 6);
    expect(found.shareOfRoom).toBeCloseTo(1, 6);
    expect(found.airInBalance_ppm).toBeCloseTo(room_ppm, 3);
    // 340.105 µatm belongs to pH 8.1: outdoor air (407 µatm over water) lies between.
    expect(found.phInOutdoorAir).toBeGreaterThan(8);
    expect(found.phInOutdoorAir).toBeLessThan(8.1);
  });

  test('the CO2 of a room and that of a tank do not add up', () => {
    const found = lowPhFrom({ ...water, pco2_uatm: 800, room_ppm: 600 });
    const [outdoors, room] = [420, 600].map((ppm) => ppm * (1 - 0.0306553));
    expect(found.shareOfRoom).toBeCloseTo((room! - outdoors!) / (800 - outdoors!), 4);
    expect(found.phInOutdoorAir).toBeGreaterThan(found.phInRoomAir!);
    expect(found.phInRoomAir).toBeGreaterThan(found.phNow);
  });

  test('a room that nobody measured is given a share', () => {
    const found = lowPhFrom({ ...water, pco2_uatm: 800 });
    expect(found.shareOfRoom).toBeUndefined();
    expect(found.phInRoomAir).toBeUndefined();
    expect(found.airInBalance_ppm).toBeCloseTo(800 / (1 - 0.0306553), 0);
  });

  test('a reactor adds another CO2 than its flux over the coefficient', () => {
    // 4 µmol/kg/h against 1/h hold 4 µmol/kg more: K0 of the table turns them into 141 µatm.
    const reactor = { co2_umol_kg_h: 4, coefficient_per_h: 1 };
    const found = lowPhFrom({ ...water, pco2_uatm: 800, room_ppm: 600, reactor });
    const pco2 = 600 * (1 - 0.0306553) + 4 / 0.02839188 / 0.9968;
    expect(found.phWithReactor).toBeCloseTo(phFromAlkalinityAndPco2(water, pco2), 4);
  });

  test('water that is fresher than outdoor air is laid to the room', () => {
    expect(lowPhFrom({ ...water, pco2_uatm: 300, room_ppm: 500 }).shareOfRoom).toBeUndefined();
  });
});
