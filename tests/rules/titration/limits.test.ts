import { describe, expect, it } from 'vitest';
import {
  type EndPointTest,
  factorFromStrength,
  lotCorrection,
  resultFromEndPoint,
} from '#rules/titration/end-point-test.ts';
import {
  acidToPh,
  alkalinityFromAcidToPh,
  apparentAlkalinity_umol_kg,
  type EndPointTitration,
  equivalencePhFree,
} from '#rules/titration/fixed-end-point.ts';
import {
  calciumFromEdta,
  type EdtaTitration,
  magnesiumByDifference,
  totalHardnessFromEdta,
} from '#rules/titration/hardness-titration.ts';
import {
  alkalinityFromSeawaterTitration,
  type SeawaterTitration,
  titrationChemistry,
} from '#rules/titration/seawater-titration.ts';
import { refusalOf } from '../refusal-of.ts';

const base: EndPointTitration = {
  ...{ chemistry: titrationChemistry(35, 25), sample_g: 100, acid_mol_kg: 0.1 },
  carbon: { kind: 'closed', dic_umol_kg: 2000 },
};
const open = (dissolvedCo2_umol_kg: number): EndPointTitration => ({
  ...base,
  carbon: { kind: 'open', dissolvedCo2_umol_kg },
});
const closed = (dic_umol_kg: number): EndPointTitration => ({ ...base, carbon: { kind: 'closed', dic_umol_kg } });
const edta: EdtaTitration = { sample_mL: 5, predilutionFactor: 1, edta_mol_L: 0.01 };
const test: EndPointTest = { amounts: [1], resolution: 0.02, readingsForOneAmount: 1, factor: 5 };
const standard = { value: 8, sd: 0.1 };

/** Every public formula of the folder, by each of its inputs. */
const limits: [name: string, low: number, high: number, give: (n: number) => unknown][] = [
  ['mass of the sample, g', 1, 5000, (n) => acidToPh({ ...base, sample_g: n }, 2300, 4.5)],
  ['mass of the sample, g', 1, 5000, (n) => apparentAlkalinity_umol_kg({ ...base, sample_g: n }, 2)],
  ['mass of the sample, g', 1, 5000, (n) => equivalencePhFree({ ...base, sample_g: n }, 2300)],
  ['strength of the acid, mol/kg', 0.001, 2, (n) => alkalinityFromAcidToPh({ ...base, acid_mol_kg: n }, 2, 4.5)],
  ['strength of the acid, mol/kg', 0.001, 2, (n) => apparentAlkalinity_umol_kg({ ...base, acid_mol_kg: n }, 2)],
  ['strength of the acid, mol/kg', 0.001, 2, (n) => equivalencePhFree({ ...base, acid_mol_kg: n }, 2300)],
  ['free pH', 2.5, 10, (n) => acidToPh(base, 2300, n)],
  ['free pH', 2.5, 10, (n) => alkalinityFromAcidToPh(base, 2, n)],
  ['total alkalinity, µmol/kg', 0, 20_000, (n) => acidToPh(base, n, 4.5)],
  ['total alkalinity, µmol/kg', 0, 20_000, (n) => equivalencePhFree(base, n)],
  ['acid, g', 0, 5000, (n) => alkalinityFromAcidToPh(base, n, 4.5)],
  ['acid, g', 0, 5000, (n) => apparentAlkalinity_umol_kg(base, n)],
  ['inorganic carbon, µmol/kg', 0, 20_000, (n) => acidToPh(closed(n), 2300, 4.5)],
  ['dissolved CO2, µmol/kg', 0, 2000, (n) => equivalencePhFree(open(n), 2300)],
  ['titrant, mol/L', 1e-4, 20, (n) => factorFromStrength(n, 5, 1)],
  ['sample, mL', 0.1, 1000, (n) => factorFromStrength(0.02, n, 1)],
  ['result for one mmol/L', 1e-9, 1e9, (n) => factorFromStrength(0.02, 5, n)],
  ['standard uncertainty of the stated standard', 0, 1e9, (n) => lotCorrection({ value: 8, sd: n }, standard)],
  ['standard uncertainty of the found standard', 0, 1e9, (n) => lotCorrection(standard, { value: 8, sd: n })],
  ['correction of the lot', 0.5, 2, (n) => lotCorrection({ value: Number.isNaN(n) ? 80 : 8 * n, sd: 0.1 }, standard)],
  ['correction of the lot', 0.5, 2, (n) => resultFromEndPoint({ ...test, lot: { factor: n, relativeSd: 0 } })],
  ['relative uncertainty of the lot', 0, 1, (n) => resultFromEndPoint({ ...test, lot: { factor: 1, relativeSd: n } })],
  ['amount of titrant', 0, 1e6, (n) => resultFromEndPoint({ ...test, amounts: [1, n] })],
  ['factor', 1e-9, 1e9, (n) => resultFromEndPoint({ ...test, factor: n })],
  ['resolution', 0, 1e6, (n) => resultFromEndPoint({ ...test, resolution: n })],
  ['repeatability', 0, 1e6, (n) => resultFromEndPoint({ ...test, repeatabilitySd: n })],
  ['relative uncertainty of the factor', 0, 1, (n) => resultFromEndPoint({ ...test, factorRelativeSd: n })],
  ['relative uncertainty of the sample', 0, 1, (n) => resultFromEndPoint({ ...test, sampleRelativeSd: n })],
  ['sample, mL', 0.1, 1000, (n) => calciumFromEdta({ ...edta, sample_mL: n }, 5)],
  ['predilution factor', 1, 1000, (n) => calciumFromEdta({ ...edta, predilutionFactor: n }, 5)],
  ['EDTA, mol/L', 1e-4, 1, (n) => totalHardnessFromEdta({ ...edta, edta_mol_L: n }, 5)],
  ['standard uncertainty of a volume, mL', 0, 100, (n) => calciumFromEdta({ ...edta, volumeSd_mL: n }, 5)],
  ['relative standard uncertainty', 0, 0.5, (n) => magnesiumByDifference({ ...edta, relativeSd: n }, 5, 36)],
  ['EDTA for calcium, mL', 0, 1000, (n) => calciumFromEdta(edta, n)],
  ['EDTA for calcium, mL', 0, 1000, (n) => magnesiumByDifference(edta, n, 1000)],
  ['EDTA for calcium and magnesium, mL', 0, 1000, (n) => totalHardnessFromEdta(edta, n)],
  ['EDTA for calcium and magnesium, mL', 5, 1000, (n) => magnesiumByDifference(edta, 5, n)],
];

describe('a number that cannot be', () => {
  it.each(limits)('is counted with, or its limits are not told: %s', (name, low, high, give) => {
    const margin = (high - low) * 1e-6;
    for (const found of [low - margin, high + margin, Number.NaN])
      expect(refusalOf(() => give(found))).toMatchObject({ quantity: name, allowed: `${low} to ${high}` });
    for (const found of [low, high]) expect(() => give(found)).not.toThrow();
  });

  it('a standard of nothing is held against', () => {
    for (const value of [0, -1, 2e9, Number.NaN]) {
      const wrong = { value, sd: 0.1 };
      expect(() => lotCorrection(wrong, standard)).toThrow(/^stated standard is .*, allowed: 5e-324 to 1000000000$/);
      expect(() => lotCorrection(standard, wrong)).toThrow(/^found standard is .*, allowed: 5e-324 to 1000000000$/);
    }
  });

  it('no amount at all, or a salinity without constants, is answered', () => {
    expect(() => resultFromEndPoint({ ...test, amounts: [] })).toThrow('number of amounts is 0, allowed: 1 or more');
    const run: SeawaterTitration = {
      ...{ points: [], signal: 'ph', sample: { mass_g: 100 }, acid: { mol_kg: 0.1 }, temperature_C: 25 },
      ...{ cell: { kind: 'open' }, salinity: 5 },
    };
    expect(alkalinityFromSeawaterTitration(run)).toMatchObject({
      fault: 'bad_input',
      why: expect.stringMatching(/^practical salinity is 5, allowed: 19 to 43\.$/),
    });
  });

  it('a fault of the program is told as a bad salinity', () => {
    const broken = new Proxy([], {
      get() {
        throw new TypeError('broken');
      },
    });
    const run: SeawaterTitration = {
      ...{ points: broken, signal: 'ph', sample: { mass_g: 100 }, acid: { mol_kg: 0.1 }, temperature_C: 25 },
      ...{ cell: { kind: 'open' }, salinity: 35 },
    };
    expect(() => alkalinityFromSeawaterTitration(run)).toThrow(TypeError);
  });
});
