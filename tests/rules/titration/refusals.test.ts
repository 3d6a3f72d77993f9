import { describe, expect, it } from 'vitest';
import { phFreeAfterAcid } from '#rules/titration/acid-balance.ts';
import { alkalinityFromTitration } from '#rules/titration/alkalinity-from-titration.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';
import type { TitrationRun } from '#rules/titration/titration-run.ts';

const chemistry = titrationChemistry(35, 25);
/** Slope of an electrode at 25 °C: RT ln 10 / F, mV (SI constants). */
const slope_mV = 59.159;

/** The curve that this water writes: 100 g of it, in an open cell, 0.1 mol/kg of acid to half as much again as it takes. */
function curve(of: { alkalinity?: number; offset?: number; e0_mV?: number; past?: number } = {}): TitrationRun {
  const { alkalinity = 2300, offset = 0, e0_mV, past = 1.5 } = of;
  const sample = { mass_g: 100, totalAlkalinity_umol_kg: alkalinity, dic_umol_kg: 0 };
  const points = Array.from({ length: 61 }, (_, index) => {
    const acid_g = (past * alkalinity * 1e-3 * index) / 60;
    const phFree = phFreeAfterAcid(chemistry, sample, acid_g, 0.1);
    return { acid_g, reading: e0_mV === undefined ? phFree + offset : e0_mV - slope_mV * phFree };
  });
  return {
    ...{ points, signal: e0_mV === undefined ? 'ph' : 'emf_mV', sample: { mass_g: 100 }, sampleDensity_g_mL: 1.0233 },
    ...{ acid: { mol_kg: 0.1 }, temperature_C: 25, cell: { kind: 'open' }, chemistry },
  };
}

const verdictOf = (run: TitrationRun): string => {
  const verdict = alkalinityFromTitration(run);
  return verdict.kind === 'answer' ? 'answer' : `${verdict.fault}: ${verdict.why}`;
};
const withPoint = (
  run: TitrationRun,
  index: number,
  change: Partial<TitrationRun['points'][number]>,
): TitrationRun => ({
  ...run,
  points: run.points.with(index, { ...run.points[index]!, ...change }),
});

describe('a number that cannot be, in what is said of a run', () => {
  it.each([
    ['strength of the acid, mol/kg', 0.001, 2, (n: number) => ({ acid: { mol_kg: n } })],
    ['mass of the sample, g', 1, 5000, (n: number) => ({ sample: { mass_g: n } })],
    ['density of the sample, g/mL', 0.9, 1.2, (n: number) => ({ sampleDensity_g_mL: n })],
    ['density of the acid, g/mL', 0.9, 1.2, (n: number) => ({ acidDensity_g_mL: n })],
    ['temperature, °C', -2, 45, (n: number) => ({ temperature_C: n })],
    ['relative uncertainty of the acid', 0, 0.5, (n: number) => ({ acidRelativeSd: n })],
    ['relative uncertainty of the sample', 0, 0.5, (n: number) => ({ sampleRelativeSd: n })],
    ['resolution of the reading', 0, 100, (n: number) => ({ readingResolution: n })],
    ['dissolved inorganic carbon, µmol/kg', 0, 20_000, (n: number) => ({ cell: { kind: 'closed', dic_umol_kg: n } })],
  ] as [string, number, number, (n: number) => Partial<TitrationRun>][])(
    'is not told by its name, what was found and what is needed: %s',
    (name, low, high, change) => {
      for (const found of [low - 0.01, high + 0.01, Number.NaN])
        expect(verdictOf({ ...curve(), ...change(found) })).toBe(
          `bad_input: ${name}: found ${found}, need ${low} to ${high}.`,
        );
      for (const found of [low, high]) expect(verdictOf({ ...curve(), ...change(found) })).not.toContain(name);
    },
  );

  it.each([
    ['no acid at all', { acid_g: undefined }, 'acid_amount_missing: Point 8 has neither mL nor g of acid.'],
    [
      'acid taken away',
      { acid_g: -0.1 },
      'bad_input: Point 8: acid -0.1 g, reading 7; need finite numbers, acid from 0.',
    ],
    ['acid that is no number', { acid_g: Number.NaN }, 'bad_input: Point 8: acid NaN g, reading 7;'],
    [
      'a reading without end',
      { acid_g: 1, reading: Number.POSITIVE_INFINITY },
      'bad_input: Point 8: acid 1 g, reading Infinity;',
    ],
    [
      'grams beside a tenth of the mL',
      { acid_g: 1, acid_mL: 10 },
      'mass_and_volume_disagree: Point 8: 1 g for 10 mL is 0.100 g/mL, need 0.9 to 1.2.',
    ],
    [
      'grams just too light',
      { acid_g: 0.89, acid_mL: 1 },
      'mass_and_volume_disagree: Point 8: 0.89 g for 1 mL is 0.890 g/mL',
    ],
    [
      'grams just too heavy',
      { acid_g: 1.21, acid_mL: 1 },
      'mass_and_volume_disagree: Point 8: 1.21 g for 1 mL is 1.210 g/mL',
    ],
    [
      'a total that stands still',
      { acid_g: curve().points[6]!.acid_g! },
      'acid_not_a_running_total: Point 8 has no more acid',
    ],
  ] as [string, Partial<TitrationRun['points'][number]>, string][])(
    'in one row is not told with the number of the row: %s',
    (_, change, why) => {
      const run = withPoint(curve(), 7, { reading: 7, ...change });
      if (change.acid_g === undefined) delete run.points[7]!.acid_g;
      expect(verdictOf(run)).toContain(why);
    },
  );

  it('two columns of acid that agree are refused', () => {
    for (const density of [0.91, 1.0226, 1.19]) {
      const run = curve();
      const points = run.points.map(({ acid_g, reading }) => ({
        acid_g: acid_g!,
        acid_mL: acid_g! / density,
        reading,
      }));
      expect(verdictOf({ ...run, points })).toBe('answer');
      // A burette that was not at 0 when the weighing began.
      const begun = points.with(0, { ...points[0]!, acid_g: 0.001, acid_mL: 0 });
      expect(verdictOf({ ...run, points: begun })).toBe('answer');
    }
  });
});

describe('which acid is counted', () => {
  const run = curve();
  const truth = (verdict: TitrationRun) => {
    const answer = alkalinityFromTitration(verdict);
    if (answer.kind === 'no_answer') throw new Error(answer.why);
    return answer;
  };

  it('the column that goes with the strength of the acid is passed over', () => {
    const both = run.points.map(({ acid_g, reading }) => ({ acid_g: acid_g!, acid_mL: acid_g! / 1.0226, reading }));
    // 4 % wrong in the column that does not matter changes nothing.
    const byGrams = both.map((point) => ({ ...point, acid_mL: point.acid_mL * 1.04 }));
    expect(truth({ ...run, points: byGrams }).totalAlkalinity_umol_kg).toBeCloseTo(2300, 3);
    expect(truth({ ...run, points: byGrams }).assumptions).toEqual([]);
    const byMl = both.map((point) => ({ ...point, acid_g: point.acid_g * 1.04 }));
    const byVolume = truth({ ...run, points: byMl, acid: { mol_L: 0.10226 } });
    expect(byVolume.totalAlkalinity_umol_kg).toBeCloseTo(2300, 3);
    expect(byVolume.assumptions).toEqual([]);
  });

  it('grams of an acid that is known by the litre are turned into litres unsaid', () => {
    const answer = truth({ ...run, acid: { mol_L: 0.10226 } });
    expect(answer.totalAlkalinity_umol_kg).toBeCloseTo(2300, 3);
    expect(answer.assumptions).toEqual(['acid density 1.0226 g/mL: an error of 1 % in it is 1 % of the alkalinity']);
    expect(truth({ ...run, acid: { mol_L: 0.10226 }, acidDensity_g_mL: 1.0226 }).assumptions).toEqual([]);
  });
});

describe('a run that shows its fault at a glance', () => {
  const five = (readings: readonly number[]): TitrationRun => ({
    ...curve(),
    points: readings.map((reading, index) => ({ acid_g: index, reading })),
  });

  it.each([
    ['three points', [8, 7, 6], 'too_few_points: 3 points, need at least 4 with pH between 3 and 4.'],
    ['a pH below 0', [8, 7, 6, 5, -0.5], 'looks_like_millivolts: pH readings: found -0.5 to 8, need 0 to 12.'],
    ['a pH above 12', [12.5, 7, 6, 5, 4], 'looks_like_millivolts: pH readings: found 4 to 12.5, need 0 to 12.'],
    ['a pH that rises', [4, 5, 6, 7, 8], 'electrode_goes_the_wrong_way: pH rises as acid is added.'],
    [
      'a pH that rises by 0.06 at once',
      [8, 8.06, 6, 5, 4],
      'not_monotonic: Point 2 lies 0.06 pH above an earlier one.',
    ],
    ['a pH that creeps up', [8, 6, 6.03, 6.06, 4], 'not_monotonic: Point 4 lies 0.06 pH above an earlier one.'],
  ])('is told with its numbers: %s', (_, readings, why) => {
    expect(verdictOf(five(readings))).toContain(why);
  });

  it.each([
    ['five points', [8, 7, 6, 5, 4.5]],
    ['the ends of what a meter shows', [12, 7, 6, 5, 0]],
    ['noise of 0.04 pH', [8, 8.04, 6, 5, 4.5]],
    ['a sample that hardly moves', [8, 7.99, 7.98, 7.97, 7.96]],
    ['a meter that wanders up by 0.04', [8, 8.01, 8.02, 8.03, 8.04]],
  ])('is told although nothing is wrong but the range: %s', (_, readings) => {
    expect(verdictOf(five(readings))).toMatch(
      /^too_few_points_in_range: .*(of 5 points have pH between 3 and 4, need 4|past the equivalence point)/,
    );
  });

  it('millivolts are told as pH, or the other way round', () => {
    const millivolts = (readings: readonly number[]): string => verdictOf({ ...five(readings), signal: 'emf_mV' });
    expect(millivolts([4, 5, 6, 7, 8])).toContain('looks_like_ph: Millivolts: found 4 to 8, which is how pH looks.');
    expect(millivolts([0, 3, 6, 9, 12])).toContain('looks_like_ph: Millivolts: found 0 to 12');
    expect(millivolts([-20, 3, 6, 9, 12])).not.toContain('looks_like');
    expect(millivolts([1, 3, 6, 9, 120])).not.toContain('looks_like');
    expect(millivolts([300, 200, 100, 50, 20])).toContain('The millivolts fall as acid is added.');
  });
});

describe('an electrode or an alkalinity that is not to be believed', () => {
  // Limits of belief: common practice, no published source.
  it.each([
    [
      'a meter that reads 0.52 too high',
      { offset: 0.52 },
      /^implausible_electrode: The meter would read 0.52 above the pH, believed up to 0.5\. Check the strength/,
    ],
    ['a meter that reads 0.52 too low', { offset: -0.52 }, /^implausible_electrode: The meter would read -0.52 above/],
    [
      'an electrode of 190 mV',
      { e0_mV: 190 },
      /^implausible_electrode: E0 would be 190 mV, believed from 200 to 600\. Check/,
    ],
    ['an electrode of 612 mV', { e0_mV: 612 }, /^implausible_electrode: E0 would be 612 mV, believed from 200 to 600/],
    [
      'water without alkalinity',
      { alkalinity: 90, past: 5 },
      /^implausible_alkalinity: The alkalinity would be 90 µmol\/kg, believed from 100 to 10000\. Check/,
    ],
    [
      'water of 31 dKH',
      { alkalinity: 11_000, past: 1.15 },
      /^implausible_alkalinity: The alkalinity would be 11000 µmol\/kg/,
    ],
  ])('is answered: %s', (_, of, why) => {
    expect(verdictOf(curve(of))).toMatch(why);
  });

  it.each([
    ['0.48 too high', { offset: 0.48 }],
    ['0.48 too low', { offset: -0.48 }],
    ['210 mV', { e0_mV: 210 }],
    ['590 mV', { e0_mV: 590 }],
    ['110 µmol/kg', { alkalinity: 110, past: 5 }],
    ['9900 µmol/kg', { alkalinity: 9900, past: 1.15 }],
  ])('is refused though it can be: %s', (_, of) => {
    expect(verdictOf(curve(of))).toBe('answer');
  });

  it('an electrode that stepped by 0.2 pH is answered, one that stepped by 0.1 refused', () => {
    const stepped = (by: number): string => {
      const run = curve();
      const points = run.points.map((point, index) => ({ ...point, reading: point.reading - (index > 48 ? by : 0) }));
      return verdictOf({ ...run, points });
    };
    expect(stepped(0.1)).toBe('answer');
    expect(stepped(0.2)).toMatch(
      /^poor_fit: The points scatter about the fit by 0\.0\d\d pH, believed up to 0.04\. Was the cell open or closed as said/,
    );
  });

  it('an acid of half or twice its stated strength, and carbon that nobody stated, are answered', () => {
    // What the buffered part says of the acid then contradicts what its excess says.
    const verdict = (mol_kg: number): string => verdictOf({ ...curve(), acid: { mol_kg }, cell: { kind: 'closed' } });
    expect(verdict(0.2)).toMatch(/^poor_fit: .* the strength of the acid right, the electrode steady\?$/);
    expect(verdict(0.05)).toMatch(
      /^no_fit: The fit found no alkalinity that the points agree on\. Check the strength of the acid/,
    );
  });
});

describe('what the answer says of its points', () => {
  it('the residuals, their scatter and the digit of the meter are other than the points show', () => {
    const run = curve({ offset: 0.2 });
    const noise = [0.004, -0.003, 0.001, -0.004, 0.002];
    const points = run.points.map((point, index) => ({ ...point, reading: point.reading + noise[index % 5]! }));
    const sample = { mass_g: 100, totalAlkalinity_umol_kg: 0, dic_umol_kg: 0 };
    for (const cell of [{ kind: 'open' }, { kind: 'closed', dic_umol_kg: 0 }] as const) {
      const answer = alkalinityFromTitration({ ...run, points, cell });
      if (answer.kind === 'no_answer' || answer.electrode.signal !== 'ph') throw new Error('no answer');
      const { residuals, electrode, totalAlkalinity_umol_kg } = answer;
      expect(residuals).toHaveLength(answer.points_used);
      for (const { acid_g, phFree, residual_ph } of residuals) {
        const reading = points.find((point) => point.acid_g === acid_g)!.reading;
        expect(phFree).toBeCloseTo(reading - electrode.phOffset, 9);
        const byModel = phFreeAfterAcid(chemistry, { ...sample, totalAlkalinity_umol_kg }, acid_g, 0.1);
        expect(residual_ph).toBeCloseTo(phFree - byModel, 9);
      }
      // Two unknowns are counted off: alkalinity and offset.
      const square = residuals.reduce((sum, { residual_ph }) => sum + residual_ph ** 2, 0);
      expect(answer.residualSd_ph).toBeCloseTo(Math.sqrt(square / (residuals.length - 2)), 9);
    }
  });

  it('a digit of 1 mV is taken for 1 pH, or for less than its 1/59', () => {
    const sdOf = (run: TitrationRun) => {
      const answer = alkalinityFromTitration(run);
      if (answer.kind === 'no_answer') throw new Error(answer.why);
      return answer.fitSd_umol_kg;
    };
    const byPh = sdOf({ ...curve(), readingResolution: 1 / slope_mV });
    expect(sdOf({ ...curve({ e0_mV: 400 }), readingResolution: 1 })).toBeCloseTo(byPh, 2);
    expect(byPh).toBeGreaterThan(0.3);
  });

  it('acid past the range or a sample of few points is not asked for in words that help', () => {
    const short = curve({ past: 0.9 });
    expect(verdictOf(short)).toMatch(
      /^too_few_points_in_range: (\d of 61 points have pH between 3 and 4, need 4. Add acid to pH 3 in smaller steps|No points past the equivalence point: add acid to pH 3)\.$/,
    );
    // All but three of the points above pH 5 left out, and the inorganic carbon not stated.
    const run = curve();
    const buffered = run.points.filter(({ reading }) => reading >= 5).length;
    const closed = (from: number): string =>
      verdictOf({ ...run, points: run.points.slice(from), cell: { kind: 'closed' } });
    expect(closed(buffered - 3)).toBe(
      'too_few_points_in_range: 3 points above pH 5; a closed cell needs 4 of them, or its inorganic carbon stated.',
    );
    expect(closed(buffered - 4)).not.toContain('points above pH 5');
  });
});
