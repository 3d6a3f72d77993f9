import { atomicWeight_g_mol, molarMass_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';
import { type ReferenceElement, reference_mg_L } from '../seawater/reference-composition.ts';
import type { SubstanceId } from './substance.ts';
import { substances } from './substances.ts';

/** What stays in the water when corals have taken calcium and alkalinity, and what they take little of. */
export const lastingIons = ['Na', 'Cl', 'SO4', 'Mg', 'K'] as const satisfies readonly ReferenceElement[];
export type LastingIon = (typeof lastingIons)[number];

/** Moles of each that a mole of a substance brings beside what the table of substances has. Follows from the formula. */
const otherIons: Record<SubstanceId, Partial<Record<'Na' | 'Cl' | 'SO4', number>>> = {
  sodium_bicarbonate: { Na: 1 },
  sodium_carbonate: { Na: 2 },
  sodium_carbonate_decahydrate: { Na: 2 },
  sodium_hydroxide: { Na: 1 },
  calcium_hydroxide: {},
  calcium_oxide: {},
  calcium_chloride: { Cl: 2 },
  calcium_chloride_dihydrate: { Cl: 2 },
  calcium_chloride_hexahydrate: { Cl: 2 },
  magnesium_chloride_hexahydrate: { Cl: 2 },
  magnesium_sulfate_heptahydrate: { SO4: 1 },
  potassium_iodide: {},
  potassium_nitrate: {},
  potassium_dihydrogen_phosphate: {},
};

const g_mol: Record<LastingIon, number> = {
  Na: atomicWeight_g_mol.Na,
  Cl: atomicWeight_g_mol.Cl,
  Mg: atomicWeight_g_mol.Mg,
  K: atomicWeight_g_mol.K,
  SO4: molarMass_g_mol({ S: 1, O: 4 }),
};

/** An ion so far from its share in the sea is worth a correction: a laboratory's verdict turns there too. @source common practice, no published source */
const mattersFrom = 0.1;
/** Grams of salt in a kilogram of seawater of practical salinity 35. @source Millero et al. 2008, Deep-Sea Research I 55:50 */
const salt_g_kg_at_35 = 35.16504;
/** Most that is looked ahead, days. Chosen here: ten years. */
const lookedAheadDays = 3650;

export type IonInput = {
  volumeL: number;
  /** Practical salinity that the keeper holds, 20 to 42. */
  salinity: number;
  /** Grams a day of each substance, as weighed. */
  gramsPerDay: Partial<Record<SubstanceId, number>>;
  /** Of magnesium and potassium what corals and precipitation take, mg/L a day, 0 or more. */
  usedPerDay?: Partial<Record<'Mg' | 'K', number>>;
  /** Share of the water changed in a day, 0 to 1, for new water with the proportions of the sea. */
  changedPerDay: number;
};

export type IonOutlook = {
  ion: LastingIon;
  /** In the sea at this salinity, and what doses less use bring, mg/L and mg/L a day. */
  reference_mg_L: number;
  risePerDay_mg_L: number;
  /** Ratio to the sea where it comes to rest. */
  atRest: number;
  /** Days until it is a tenth off, from the sea's proportions; absent when it never is, within ten years. */
  mattersAfterDays?: number;
  /** Share of the water to change in a day so that it comes to rest within a tenth; 0 where none is needed. */
  changeToHold: number;
};

export type IonsOverMonths = {
  ions: IonOutlook[];
  /** What the doses leave in a litre a day, mg, and what that would do to salinity in a month if nobody diluted. */
  saltPerDay_mg_L: number;
  salinityPerMonth: number;
};

/**
 * What dosing leaves behind over months, and what water changes hold of it. Calcium and alkalinity are taken to be used as they are
 * dosed. The keeper holds the salinity with fresh water, which dilutes all else: the balance of each ion is
 *
 *     dc/dt = dose - use - (changed + diluted) × c + changed × c of the sea
 *
 * @throws OutOfRange  outside the limits of `IonInput`
 * @source closed mass balance by molar masses (IUPAC 2021); Millero et al. 2008, table 4, for the sea
 */
export function ionsOverMonths(input: IonInput): IonsOverMonths {
  const volumeL = within('volume, L', input.volumeL, 0.001, 1e7);
  const changed = within('share of the water changed in a day', input.changedPerDay, 0, 1);
  const salinity = within('salinity', input.salinity, 20, 42);
  const rises = lastingIons.map((ion) => {
    const dosed = Object.entries(input.gramsPerDay).reduce(
      (sum, [id, grams]) => sum + molesOf(id as SubstanceId, ion) * within('dose, g a day', grams, 0, 1e6),
      0,
    );
    const used = ion === 'Mg' || ion === 'K' ? (input.usedPerDay?.[ion] ?? 0) : 0;
    return { ion, rise: (dosed * g_mol[ion] * 1000) / volumeL - within('use, mg/L a day', used, 0, 1e4) };
  });
  const saltPerDay_mg_L = rises.reduce((sum, { rise }) => sum + rise, 0);
  const salt_mg_L = ((salt_g_kg_at_35 * salinity) / 35) * densityFromSalinityEos80(salinity, 25);
  const diluted = saltPerDay_mg_L / salt_mg_L;
  return {
    ions: rises.map(({ ion, rise }) => outlookOf(ion, rise, changed, diluted, salinity)),
    saltPerDay_mg_L,
    salinityPerMonth: 30 * diluted * salinity,
  };
}

/** Moles of an ion in a gram of a substance. */
function molesOf(id: SubstanceId, ion: LastingIon): number {
  const { moles, molarMass_g_mol: g } = substances[id];
  const all = ion === 'Mg' ? moles.magnesium : ion === 'K' ? moles.potassium : otherIons[id][ion];
  return (all ?? 0) / g;
}

function outlookOf(ion: LastingIon, rise: number, changed: number, diluted: number, salinity: number): IonOutlook {
  const reference = reference_mg_L(ion, salinity);
  const out = changed + diluted;
  const relative = rise / reference;
  // Nothing dosed and nothing changed: it stays as it is.
  const atRest = out > 0 ? Math.max(0, (relative + changed) / out) : relative < 0 ? 0 : relative > 0 ? Infinity : 1;
  const edge = atRest > 1 ? 1 + mattersFrom : 1 - mattersFrom;
  const isPast = Math.abs(atRest - 1) > mattersFrom;
  const days = !isPast ? undefined : out > 0 ? Math.log((atRest - 1) / (atRest - edge)) / out : (edge - 1) / relative;
  return {
    ion,
    reference_mg_L: reference,
    risePerDay_mg_L: rise,
    atRest,
    ...(days === undefined || days > lookedAheadDays ? {} : { mattersAfterDays: days }),
    changeToHold: isPast ? Math.min(1, Math.max(0, (relative - edge * diluted) / (edge - 1))) : 0,
  };
}
