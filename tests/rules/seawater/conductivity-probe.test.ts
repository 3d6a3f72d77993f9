import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { conductivityFromLinearCompensation } from '#rules/seawater/conductivity-probe.ts';
import { practicalSalinityFromConductivity } from '#rules/seawater/practical-salinity.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

describe('a probe that displays conductivity at 25 °C', () => {
  // Table: linear form as in JIS, true conductivity and salinity by TEOS-10 GSW (fixtures/reference/README.md).
  it('shows the true conductivity and salinity whatever its coefficient, in all 240 rows', () => {
    const conductivity = new WorstDifference('conductivity from display, mS/cm', 1e-8);
    const salinity = new WorstDifference('practical salinity from display', 1e-7);
    for (const row of referenceTable('specific-conductance', 240)) {
      expect(row.number('reference_temperature_C')).toBe(25);
      const temperature_C = row.number('temperature_C');
      const alpha_percent_per_C = row.number('alpha_percent_per_C');
      const displayed_mS_cm = row.number('displayed_conductivity_mS_cm');
      const place = `line ${row.line}`;
      const found_mS_cm = conductivityFromLinearCompensation(displayed_mS_cm, temperature_C, alpha_percent_per_C);
      conductivity.add(found_mS_cm, row.number('conductivity_mS_cm'), place);
      const found = practicalSalinityFromConductivity(found_mS_cm, temperature_C);
      salinity.add(found, row.number('practical_salinity'), place);
    }
    conductivity.check();
    salinity.check();
  });

  it('gives no conductivity for a coefficient, a temperature or a display that no probe has', () => {
    const impossible: [number, number, number][] = [
      [53, 25, -0.1],
      [53, 25, 5.1],
      [53, 51, 2],
      [53, -5, 4],
      [-1, 25, 2],
      [Number.NaN, 25, 2],
    ];
    for (const [displayed_mS_cm, temperature_C, alpha] of impossible) {
      expect(() => conductivityFromLinearCompensation(displayed_mS_cm, temperature_C, alpha)).toThrow(OutOfRange);
    }
  });
});
