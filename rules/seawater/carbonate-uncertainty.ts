import { within } from '../quantity/out-of-range.ts';
import type { Equilibrium } from './carbonate-equilibrium.ts';
import { type CarbonateSystem, type CarbonateWater, carbonateRange, equilibriumOf } from './carbonate-system.ts';

/**
 * How sure the carbonate system is, given how sure its inputs are (JCGM 100:2008, the GUM, 5.1.2 with 5.1.3 note 2: each
 * contribution is half the change between the input plus and minus its standard uncertainty).
 */

/** The inputs that carry an uncertainty; any of the three functions of carbonate-system.ts takes some of these. */
export type CarbonateInput = CarbonateWater & {
  totalAlkalinity_umol_kg?: number;
  phTotal?: number;
  dic_umol_kg?: number;
};

type InputName = 'salinity' | 'temperature_C' | 'totalAlkalinity_umol_kg' | 'phTotal' | 'dic_umol_kg' | 'calcium_mg_L';

/** Standard uncertainties in the unit of each input, 0 or more; one that is not given counts as exact. */
export type InputUncertainty = Partial<Record<InputName, number>>;

/** The outputs, each of which gets a standard uncertainty in its own unit. */
export type CarbonateOutput = Exclude<keyof CarbonateSystem, 'omegaAragoniteMeasuredCalcium'>;

type ConstantName = 'k0' | 'k1' | 'k2' | 'kb' | 'kw' | 'kspAragonite' | 'kspCalcite' | 'boron';

export type CarbonateUncertainty = {
  /** Combined standard uncertainty (root of the sum of squares) of every output, in its unit. */
  combined: Record<CarbonateOutput, number> & { omegaAragoniteMeasuredCalcium?: number };
  /** The largest single source of each output's uncertainty, for the sentence "the pH electrode limits this". */
  largestSource: Record<CarbonateOutput, InputName | ConstantName | 'none'>;
};

/**
 * Standard uncertainties of the constants: of pK for the K, as a share for boron.
 * @source Orr, Epitalon, Dickson & Gattuso 2018, Marine Chemistry 207:84, table 1 (from memory)
 */
export const constantUncertaintyOrr2018: Readonly<Record<ConstantName, number>> = {
  k0: 0.002,
  k1: 0.0075,
  k2: 0.015,
  kb: 0.01,
  kw: 0.01,
  kspAragonite: 0.02,
  kspCalcite: 0.02,
  boron: 0.02,
};

/** Within these the constants hold. @source Lueker et al. 2000 for salinity and temperature; the rest as `carbonateRange` has it */
const inputRange: Record<InputName, readonly [number, number]> = {
  ...carbonateRange,
  salinity: [19, 43],
  temperature_C: [5, 35],
};

/** EOS-80, which turns tested calcium into µmol/kg, ends at 42. */
function rangeOf(source: InputName, input: CarbonateInput): readonly [number, number] {
  return source === 'salinity' && input.calcium_mg_L !== undefined ? [19, 42] : inputRange[source];
}

/**
 * The standard uncertainty of everything that one of the two functions of carbonate-system.ts gives. The inputs are
 * taken as independent. At an edge of the range the difference is taken to the inner side only.
 *
 * @param solve  carbonateFromAlkalinityAndPh or carbonateFromAlkalinityAndDic
 * @param input  what that function takes
 * @param inputUncertainty  standard uncertainties, each from 0 to the width of the input's range
 * @param constants  `orr2018` counts the constants' own uncertainty too; `exact` counts the inputs alone
 * @throws OutOfRange  for an input outside the limits of that function, or a negative uncertainty
 * @source JCGM 100:2008, 5.1.2 and 5.1.3
 */
export function carbonateUncertainty<Input extends CarbonateInput>(
  solve: (input: Input, water?: Equilibrium) => CarbonateSystem,
  input: Input,
  inputUncertainty: InputUncertainty,
  constants: 'orr2018' | 'exact' = 'orr2018',
): CarbonateUncertainty {
  const contributions: Contribution[] = [];
  for (const source of Object.keys(inputUncertainty) as InputName[]) {
    const estimate = input[source];
    if (estimate === undefined) continue;
    const [lowest, highest] = rangeOf(source, input);
    const u = within(`standard uncertainty of ${source}`, inputUncertainty[source] ?? 0, 0, highest - lowest);
    const lower = Math.max(estimate - u, lowest);
    const upper = Math.min(estimate + u, highest);
    // An uncertainty below the last digit of its estimate moves nothing.
    if (!(upper > lower)) continue;
    contributions.push({
      source,
      low: solve({ ...input, [source]: lower }),
      high: solve({ ...input, [source]: upper }),
      share: u / (upper - lower),
    });
  }
  if (constants === 'orr2018') {
    const water = equilibriumOf(input);
    for (const source of Object.keys(constantUncertaintyOrr2018) as ConstantName[]) {
      const u = constantUncertaintyOrr2018[source];
      const factor = source === 'boron' ? 1 + u : 10 ** u;
      const inverse = source === 'boron' ? 1 - u : 10 ** -u;
      contributions.push({
        source,
        low: solve(input, { ...water, [source]: water[source] * inverse }),
        high: solve(input, { ...water, [source]: water[source] * factor }),
        share: 1 / 2,
      });
    }
  }
  return combine(solve(input), contributions);
}

/** What one source does: the system with it lowered and raised, and the share of that change that is one contribution. */
type Contribution = { source: InputName | ConstantName; low: CarbonateSystem; high: CarbonateSystem; share: number };

function combine(estimate: CarbonateSystem, contributions: readonly Contribution[]): CarbonateUncertainty {
  const combined: Partial<Record<keyof CarbonateSystem, number>> = {};
  const largestSource: Partial<Record<keyof CarbonateSystem, string>> = {};
  for (const output of Object.keys(estimate) as (keyof CarbonateSystem)[]) {
    let largest = 0;
    largestSource[output] = 'none';
    combined[output] = Math.hypot(
      ...contributions.map(({ source, low, high, share }) => {
        const contribution = Math.abs((high[output] ?? 0) - (low[output] ?? 0)) * share;
        if (contribution > largest) {
          largest = contribution;
          largestSource[output] = source;
        }
        return contribution;
      }),
    );
  }
  return { combined, largestSource } as CarbonateUncertainty;
}
