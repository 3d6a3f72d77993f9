import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import {
  conductivityFromPracticalSalinity,
  practicalSalinityFromConductivity,
  standardSeawaterConductivity_mS_cm,
} from '#rules/seawater/practical-salinity.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

/** The surface rows of the check values; PSS-78 at depth needs the pressure term Rp, which no aquarium has. */
const surfaceRows = referenceTable('seawater-check-values', 58).filter((row) => row.text('pressure_dbar') === '0');

/** Runs the function on every surface row of one quantity, each at the row's own tolerance; counts the rows. */
function checkPublished(quantity: string, compute: (row: (typeof surfaceRows)[number]) => number): number {
  const rows = surfaceRows.filter((row) => row.text('quantity') === quantity);
  for (const row of rows) {
    const difference = Math.abs(compute(row) - row.number('expected'));
    expect(difference, row.text('id')).toBeLessThanOrEqual(row.number('tolerance'));
  }
  return rows.length;
}

describe('practical salinity', () => {
  // Table: TEOS-10 GSW, PSS-78 with Hill et al. 1986 (fixtures/reference/README.md).
  it('shows the salinity of the reference table in all of its 207 waters, both ways', () => {
    const salinity = new WorstDifference('practical salinity', 1e-8);
    const conductivity = new WorstDifference('conductivity from salinity, mS/cm', 1e-8);
    for (const row of referenceTable('seawater-practical-salinity', 207)) {
      const conductivity_mS_cm = row.number('conductivity_mS_cm');
      const temperature_C = row.number('temperature_C');
      const found = practicalSalinityFromConductivity(conductivity_mS_cm, temperature_C);
      salinity.add(found, row.number('practical_salinity'), `line ${row.line}`);
      conductivity.add(
        conductivityFromPracticalSalinity(row.number('practical_salinity'), temperature_C),
        conductivity_mS_cm,
        `line ${row.line}`,
      );
    }
    salinity.check();
    conductivity.check();
  });

  // UNESCO 44 (Fofonoff & Millard 1983) p. 9, Culkin & Smith 1980, and surface values computed by GSW and 40-digit code.
  it('meets the published check values at the surface', () => {
    const temperature = 'temperature_its90_C';
    const counts = {
      fromRatio: checkPublished('practical_salinity_from_conductivity_ratio', (row) =>
        practicalSalinityFromConductivity(
          row.number('conductivity_ratio') * standardSeawaterConductivity_mS_cm,
          row.number(temperature),
        ),
      ),
      toRatio: checkPublished(
        'conductivity_ratio_from_practical_salinity',
        (row) =>
          conductivityFromPracticalSalinity(row.number('salinity'), row.number(temperature)) /
          standardSeawaterConductivity_mS_cm,
      ),
      fromConductivity: checkPublished('practical_salinity_from_conductivity', (row) =>
        practicalSalinityFromConductivity(row.number('conductivity_mS_cm'), row.number(temperature)),
      ),
      toConductivity: checkPublished('conductivity_from_practical_salinity', (row) =>
        conductivityFromPracticalSalinity(row.number('salinity'), row.number(temperature)),
      ),
    };
    expect(counts).toEqual({ fromRatio: 1, toRatio: 1, fromConductivity: 14, toConductivity: 1 });
  });

  // 28 rows are under water: three forms of PSS-78 and its inverse need the pressure term Rp (18 rows), four of EOS-80 the
  // secant bulk modulus, six of TEOS-10 its own equation of state. The other 30 rows are checked here and in density.test.ts, but
  // for six of Hill's formula without the factor at 2, which is not used here.
  it('leaves out of the published check values only those at depth', () => {
    const checkedElsewhere = surfaceRows.filter((row) => row.text('quantity').startsWith('density'));
    expect(surfaceRows).toHaveLength(30);
    expect(checkedElsewhere).toHaveLength(7);
  });

  it('gives no salinity for a probe in air, in pure water, too cold, too hot or beyond 42', () => {
    const impossible: [number, number][] = [
      [0, 25],
      [-0.1, 25],
      [0.001, 25],
      [53, -2.01],
      [53, 35.01],
      [63, 25],
      [Number.NaN, 25],
      [53, Number.NaN],
      [Number.POSITIVE_INFINITY, 25],
    ];
    for (const [conductivity_mS_cm, temperature_C] of impossible) {
      expect(() => practicalSalinityFromConductivity(conductivity_mS_cm, temperature_C)).toThrow(OutOfRange);
    }
    for (const salinity of [-0.001, 42.001, Number.NaN]) {
      expect(() => conductivityFromPracticalSalinity(salinity, 25)).toThrow(OutOfRange);
    }
  });
});
