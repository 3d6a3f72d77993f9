import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { densityFromHydrometer, salinityFromHydrometer, sodaLimeExpansion_per_C } from '#rules/seawater/hydrometer.ts';
import { specificGravityPairs } from '#rules/seawater/specific-gravity.ts';
import { hydrometerFromSalinity } from './hydrometer-shows.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

describe('a glass hydrometer', () => {
  // Densities: EOS-80 of python-seawater (fixtures/reference/seawater-density.csv); its body taken as rigid.
  it('that does not expand weighs the water as the density table says, at any temperature', () => {
    const rigid = { pair: specificGravityPairs['25/25'], expansion_per_C: 0 };
    const rows = referenceTable('seawater-density', 228);
    const at25 = rows.find((row) => row.number('temperature_C') === 25);
    const pure25_kg_m3 = at25?.number('pure_water_density_eos80_kg_m3') ?? Number.NaN;
    const worst = new WorstDifference('salinity from a rigid hydrometer', 1e-6);
    for (const row of rows) {
      // At the two ends the printed digits may lie beyond the equation's range.
      if (row.number('practical_salinity') === 0 || row.number('practical_salinity') === 42) continue;
      const reading = row.number('density_eos80_kg_m3') / pure25_kg_m3;
      const found = salinityFromHydrometer(reading, row.number('temperature_C'), rigid);
      worst.add(found, row.number('practical_salinity'), `line ${row.line}`);
    }
    worst.check();
  });

  // Worked by hand: mass = volume × density; the volume grows by 25e-6 × 5 at 5 °C above the scale.
  it('is larger in warm water, so it reads too low and the density is corrected upwards by its expansion', () => {
    const glass = { pair: specificGravityPairs['20/20'], expansion_per_C: sodaLimeExpansion_per_C };
    const pure20_kg_m3 = 998.2041; // EOS-80 at 20 °C ITS-90 to four decimals
    const found = densityFromHydrometer(1.0255, 25, glass);
    expect(found).toBeCloseTo((1.0255 * pure20_kg_m3) / (1 + 25e-6 * 5), 2);
    expect(salinityFromHydrometer(hydrometerFromSalinity(35, 27, glass), 27, glass)).toBeCloseTo(35, 9);
  });

  it('read 5 °C too warm without correction would be wrong by more than 1.5 in salinity', () => {
    const glass = { pair: specificGravityPairs['20/20'], expansion_per_C: sodaLimeExpansion_per_C };
    const shown = hydrometerFromSalinity(35, 25, glass);
    expect(35 - salinityFromHydrometer(shown, 20, glass)).toBeGreaterThan(1.5);
  });

  it('gives no salinity for a reading that no seawater has', () => {
    const glass = { pair: specificGravityPairs['25/25'], expansion_per_C: sodaLimeExpansion_per_C };
    for (const [reading, temperature_C] of [
      [1.05, 25],
      [0.99, 25],
      [1.026, 41],
      [Number.NaN, 25],
    ] as const) {
      expect(() => salinityFromHydrometer(reading, temperature_C, glass)).toThrow(OutOfRange);
    }
  });
});
