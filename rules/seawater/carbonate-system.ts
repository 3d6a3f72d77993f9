import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { rootInBracket } from './bracketed-root.ts';
import { carbonShares, type Equilibrium, equilibriumAt, otherAlkalinity } from './carbonate-equilibrium.ts';
import { densityFromSalinityEos80 } from './density.ts';
import type { BoronOption } from './seawater-composition.ts';

/**
 * The carbonate system of seawater from alkalinity and pH, or from alkalinity and DIC. Each function takes as a second argument other
 * constants than those of its water; only carbonate-uncertainty.ts, which shifts them one by one, has a use for that.
 *
 * @source Dickson, Sabine & Christian 2007, Guide to best practices for ocean CO2 measurements, chapters 2 and 5; the
 *   constants as named in carbonate-equilibrium.ts. Checked against fixtures/reference/carbonate-system.csv
 */

/** One water. Salinity 19 to 43 (to 42 with tested calcium, where EOS-80 ends), 5 to 35 °C, one atmosphere, no nutrients. */
export type CarbonateWater = {
  salinity: number;
  temperature_C: number;
  /** `uppstrom1974` unless given. */
  boronOption?: BoronOption | undefined;
  /** As tested, 10 to 2000 mg/L at the water's temperature; gives one more saturation. */
  calcium_mg_L?: number | undefined;
};

/** What is known then. All amounts are per kg of seawater, pH is on the total scale. */
export type CarbonateSystem = {
  phTotal: number;
  totalAlkalinity_umol_kg: number;
  dic_umol_kg: number;
  pco2_uatm: number;
  fco2_uatm: number;
  /** CO2 and H2CO3 together. */
  co2_umol_kg: number;
  hco3_umol_kg: number;
  co3_umol_kg: number;
  borate_umol_kg: number;
  hydroxide_umol_kg: number;
  /** With the calcium that natural seawater of this salinity holds. */
  omegaAragonite: number;
  omegaCalcite: number;
  /** With the tested calcium, when it was given. */
  omegaAragoniteMeasuredCalcium?: number;
};

/** Limits of the three quantities: what an aquarium, a titration's start or a dose can make of seawater. */
export const carbonateRange = {
  phTotal: [5, 10],
  totalAlkalinity_umol_kg: [100, 10_000],
  dic_umol_kg: [10, 20_000],
  calcium_mg_L: [10, 2000],
} as const;

/** A water made at the very edge of pH may miss it by rounding when it is solved again. */
const roundingMargin_pH = 1e-6;

/** Molar mass of calcium, g/mol, IUPAC 2021. */
const calcium_g_mol = 40.078;

/**
 * The carbonate system from alkalinity and pH: what a titration and an electrode give.
 *
 * @param input  a CarbonateWater; total alkalinity 100 to 10 000 µmol/kg; pH on the total scale, 5 to 10
 * @throws OutOfRange  for an input outside its limits, or when borate and hydroxide alone exceed the alkalinity at this pH
 */
export function carbonateFromAlkalinityAndPh(
  input: CarbonateWater & { totalAlkalinity_umol_kg: number; phTotal: number },
  water = equilibriumOf(input),
): CarbonateSystem {
  const alkalinity = checked('totalAlkalinity_umol_kg', input.totalAlkalinity_umol_kg) * 1e-6;
  const h = 10 ** -checked('phTotal', input.phTotal);
  const { hco3, co3 } = carbonShares(water, h);
  const dic = (alkalinity - otherAlkalinity(water, h).sum) / (hco3 + 2 * co3);
  if (!(dic > 0)) throw new OutOfRange('DIC at this alkalinity and pH, µmol/kg', dic * 1e6, 'above 0');
  return systemAt(input, water, h, dic);
}

/**
 * The carbonate system from alkalinity and DIC: what a dose or the loss of CO2 leaves. Alkalinity rises with pH at fixed
 * DIC, so there is one answer or none.
 *
 * @param input  a CarbonateWater; total alkalinity 100 to 10 000 µmol/kg; DIC 10 to 20 000 µmol/kg
 * @throws OutOfRange  for an input outside its limits, or when the pH would lie outside 5 to 10
 */
export function carbonateFromAlkalinityAndDic(
  input: CarbonateWater & { totalAlkalinity_umol_kg: number; dic_umol_kg: number },
  water = equilibriumOf(input),
): CarbonateSystem {
  const alkalinity = checked('totalAlkalinity_umol_kg', input.totalAlkalinity_umol_kg) * 1e-6;
  const dic = checked('dic_umol_kg', input.dic_umol_kg) * 1e-6;
  const ph = rootInBracket(
    'pH (total scale, 5 to 10) of this alkalinity and DIC',
    (place) => alkalinityAt(water, 10 ** -place, dic) - alkalinity,
    carbonateRange.phTotal[0] - roundingMargin_pH,
    carbonateRange.phTotal[1] + roundingMargin_pH,
  );
  return systemAt(input, water, 10 ** -ph, dic);
}

/** The constants and totals of an input's water. @throws OutOfRange  for a salinity or temperature outside the limits */
export function equilibriumOf(input: CarbonateWater): Equilibrium {
  return equilibriumAt(input.salinity, input.temperature_C, input.boronOption ?? 'uppstrom1974');
}

/** Everything else from H (total scale) and DIC, both mol/kg. */
function systemAt(input: CarbonateWater, water: Equilibrium, h: number, dic: number): CarbonateSystem {
  const shares = carbonShares(water, h);
  const other = otherAlkalinity(water, h);
  const co3 = dic * shares.co3;
  const fco2_uatm = ((dic * shares.co2) / water.k0) * 1e6;
  const system: CarbonateSystem = {
    phTotal: -Math.log10(h),
    totalAlkalinity_umol_kg: alkalinityAt(water, h, dic) * 1e6,
    dic_umol_kg: dic * 1e6,
    pco2_uatm: fco2_uatm / water.fugacityOverPressure,
    fco2_uatm,
    co2_umol_kg: dic * shares.co2 * 1e6,
    hco3_umol_kg: dic * shares.hco3 * 1e6,
    co3_umol_kg: co3 * 1e6,
    borate_umol_kg: other.borate * 1e6,
    hydroxide_umol_kg: other.hydroxide * 1e6,
    omegaAragonite: (water.calcium * co3) / water.kspAragonite,
    omegaCalcite: (water.calcium * co3) / water.kspCalcite,
  };
  if (input.calcium_mg_L !== undefined) {
    const calcium = measuredCalcium_mol_kg(input.calcium_mg_L, input);
    system.omegaAragoniteMeasuredCalcium = (calcium * co3) / water.kspAragonite;
  }
  return system;
}

function measuredCalcium_mol_kg(calcium_mg_L: number, { salinity, temperature_C }: CarbonateWater): number {
  const density_kg_L = densityFromSalinityEos80(salinity, temperature_C) / 1000;
  return checked('calcium_mg_L', calcium_mg_L) / 1000 / calcium_g_mol / density_kg_L;
}

/** Alkalinity from H (total scale) and DIC, all mol/kg. */
function alkalinityAt(water: Equilibrium, h: number, dic: number): number {
  const { hco3, co3 } = carbonShares(water, h);
  return dic * (hco3 + 2 * co3) + otherAlkalinity(water, h).sum;
}

const rangeNames = {
  phTotal: 'pH (total scale)',
  totalAlkalinity_umol_kg: 'total alkalinity, µmol/kg',
  dic_umol_kg: 'DIC, µmol/kg',
  calcium_mg_L: 'calcium, mg/L',
} as const;

function checked(quantity: keyof typeof carbonateRange, found: number): number {
  const [low, high] = carbonateRange[quantity];
  return within(rangeNames[quantity], found, low, high);
}
