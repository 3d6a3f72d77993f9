import { factorFromStrength, lotCorrection, resultFromEndPoint } from '#rules/titration/end-point-test.ts';
import type { Calculation, Given } from './calculation.ts';

function factorOf(given: Given): number {
  const stated = given.optionalNumber('factor');
  if (stated !== undefined) return stated;
  return factorFromStrength(
    given.number('titrant_mol_L'),
    given.number('sample_mL'),
    given.number('result_per_mmol_L'),
  );
}

export const endPointCalculation: Calculation = {
  name: 'end-point',
  summary: 'A test by drops or syringe to a colour change: its result with the standard uncertainty',
  inputs: [
    { name: 'amount', help: 'titrant to the end point, mL or drops' },
    { name: 'amount_2', help: 'of a second test of the same water' },
    { name: 'amount_3', help: 'of a third' },
    { name: 'resolution', help: 'smallest step of the amount: a graduation, or 1 for drops' },
    { name: 'readings', help: '2 where start and end of a scale are read; 1 unless given' },
    { name: 'factor', help: "result for one mL or drop, by the test's own instructions" },
    { name: 'titrant_mol_L', help: 'without a factor: strength of the titrant' },
    { name: 'sample_mL', help: 'without a factor: volume of the sample' },
    { name: 'result_per_mmol_L', help: 'without a factor: 2.80385 for dKH by an acid, 40.078 for calcium by EDTA' },
    { name: 'repeatability_sd', help: 'standard deviation of one amount when repeated' },
    { name: 'factor_relative_sd', help: 'standard uncertainty of the factor, as a share' },
    { name: 'sample_relative_sd', help: 'of the volume of the sample, as a share' },
    { name: 'standard_stated', help: 'a reference standard tested with the same lot: what it holds' },
    { name: 'standard_found', help: 'and what the test made of it' },
    { name: 'standard_sd', help: 'standard uncertainty of what was found; 0 unless given' },
  ],
  results: ['result', 'result_sd', 'largest_source'],
  compute(given) {
    const amounts = ['amount_2', 'amount_3'].map((name) => given.optionalNumber(name));
    const stated = given.optionalNumber('standard_stated');
    const { value, sd, shares } = resultFromEndPoint({
      amounts: [given.number('amount'), ...amounts.filter((amount) => amount !== undefined)],
      resolution: given.number('resolution'),
      readingsForOneAmount: given.word('readings', ['1', '2'], '1') === '2' ? 2 : 1,
      factor: factorOf(given),
      repeatabilitySd: given.optionalNumber('repeatability_sd') ?? 0,
      factorRelativeSd: given.optionalNumber('factor_relative_sd') ?? 0,
      sampleRelativeSd: given.optionalNumber('sample_relative_sd') ?? 0,
      ...(stated !== undefined && {
        lot: lotCorrection(
          { value: stated, sd: 0 },
          { value: given.number('standard_found'), sd: given.optionalNumber('standard_sd') ?? 0 },
        ),
      }),
    });
    return { result: value, result_sd: sd, largest_source: shares[0]?.from ?? 'none' };
  },
};
