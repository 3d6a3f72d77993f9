import { describe, expect, it } from 'vitest';
import type { Metric } from '#rules/quantity/metric.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { fromStoreUnit, toStoreUnit } from '#rules/quantity/unit.ts';
import { UnknownUnit } from '#rules/quantity/unknown-unit.ts';

// What one of each unit is in the unit of the store. Weights: IUPAC CIAAW 2021, abridged (Ca 40.078, CaCO3 100.086, N 14.007,
// NO3 62.004, P 30.973761998, PO4 94.969761998, I 126.90447); 1 mho = 1 S; 1 mval = 1 meq; one meq/L is 2.80385 dKH; 1 M is
// 1 mol/L; inch and atmosphere: NIST SP 811. ppm for mg/L, ppt and PSU for practical salinity: common practice.
const known: [Metric, number, string[]][] = [
  ['ph', 1, ['', '1', '/', 'pH']],
  ['conductivity', 1, ['mmho/cm', 'MS/CM']],
  ['conductivity', 0.001, ['umho/cm', 'µmho/cm']],
  ['conductivity', 0.01, ['mS/m']],
  ['conductivity', 1000, ['S/cm']],
  ['salinity', 1, ['/', '1', 'PSS', 'PSS-78', 'ppt', '‰', 'psu']],
  ['specific_gravity', 1, ['/', '1', 'sg', 'SG']],
  ['aragonite_saturation', 1, ['', '/', '1']],
  ['alkalinity', 1, ['°dKH', '°KH', 'KH', 'dkh']],
  ['alkalinity', 2.80385, ['mval/L', 'mEq/L']],
  ['alkalinity', 2.80385 / 50.043, ['ppm CaCO3', 'mg/L  as CaCO3', ' mg/L CaCO₃ ']],
  ['calcium', 1, ['mg/dm3', 'mg/dm³', 'g/m3', 'g/m³', 'ppm']],
  ['calcium', 0.001, ['µg/L', 'ppb']],
  ['calcium', 40.078, ['mM', 'mmol/l']],
  ['calcium', 0.040078, ['uM', 'µM', 'umol/L']],
  ['calcium', 40.078 / 100.086, ['ppm CaCO3', 'ppm as CaCO3']],
  ['nitrate', 62.004 / 14.007, ['mg/L N', 'mg/L as N', 'ppm N', 'ppm NO3-N', 'ppm as NO3-N', 'ppm NO₃-N']],
  ['phosphate', 94.969761998 / 30.973761998, ['mg/L P', 'mg/L PO4-P', 'ppm P', 'ppm as P', 'ppm PO4-P']],
  ['phosphate', 0.001 * (94.969761998 / 30.973761998), ['µg/L P', 'ug/L P', 'µg/L PO4-P', 'ppb P', 'ppb PO4-P']],
  ['iodide', 1, ['ppb']],
  ['iodide', 1000, ['ppm']],
  ['iodide', 126.90447, ['µmol/L', 'uM']],
  ['iodide', 0.12690447, ['nmol/L', 'nM']],
  ['level', 25.4, ['inch', 'in']],
  [
    'par',
    1,
    ['µmol/(m²s)', 'µmol/(m²·s)', 'µmol/s/m²', 'µmol m-2 s-1', 'µmol·m-2·s-1', 'µmol·m−2·s−1', 'µmol m⁻² s⁻¹'],
  ],
  ['par', 1e6, ['mol/m²/s']],
  ['pco2', 1e6, ['atm']],
];

describe('a unit as probes, kits and people write it', () => {
  it.each(known)('%s: one of it is not %f, or it is refused', (metric, inStore, spellings) => {
    for (const spelling of spellings) {
      expect(toStoreUnit(metric, 1, spelling) / inStore, spelling).toBeCloseTo(1, 9);
      expect(fromStoreUnit(metric, inStore, spelling), spelling).toBeCloseTo(1, 9);
    }
    expect(toStoreUnit('temperature', 298.15, 'kelvin')).toBeCloseTo(25, 9);
  });
});

describe('a refusal', () => {
  it('does not say which number is meant, or in which unit it came', () => {
    for (const convert of [toStoreUnit, fromStoreUnit]) {
      expect(() => convert('ph', Number.NaN, '')).toThrow(/pH, no unit/);
      expect(() => convert('temperature', Number.NaN, 'K')).toThrow(/emperature, K/);
    }
    expect(() => toStoreUnit('ph', 8, 'mV')).toThrow('unit of ph is "mV", allowed: none');
  });

  it('cannot be told from a fault of the program', () => {
    const outside = new OutOfRange('pH', 20, '0 to 14');
    expect(outside).toMatchObject({ name: 'OutOfRange', code: 'OUT_OF_RANGE' });
    expect(new UnknownUnit('ph', 'mV', [''])).toMatchObject({ name: 'UnknownUnit', code: 'UNKNOWN_UNIT' });
  });
});
