import { atomicWeight_g_mol, calciumCarbonate_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';

/**
 * Titrations of calcium, and of calcium with magnesium, by EDTA, which binds one of either. In seawater strontium (about
 * 0.09 mmol/kg, from memory) is bound too and reads as calcium: about 1 % too high. It cancels in magnesium by difference.
 */

export type EdtaTitration = {
  /** Of what was titrated, 0.1 to 1000 mL. */
  sample_mL: number;
  /** How many times the water was diluted before the sample was taken, 1 to 1000; 1 for undiluted. */
  predilutionFactor: number;
  /** 0.0001 to 1 mol/L. */
  edta_mol_L: number;
  /** Standard uncertainty of one titrant volume, mL; 0 unless given. */
  volumeSd_mL?: number;
  /** Standard uncertainty of the titrant's strength and the sample together, as a share; 0 unless given. */
  relativeSd?: number;
};

/** A content with its standard uncertainty, in both units. */
export type IonContent = { mmol_L: number; mg_L: number; sd_mmol_L: number; sd_mg_L: number };

function mmolPerLitrePerMl(titration: EdtaTitration): number {
  const { sample_mL, predilutionFactor, edta_mol_L } = titration;
  within('sample, mL', sample_mL, 0.1, 1000);
  within('predilution factor', predilutionFactor, 1, 1000);
  within('EDTA, mol/L', edta_mol_L, 1e-4, 1);
  within('standard uncertainty of a volume, mL', titration.volumeSd_mL ?? 0, 0, 100);
  within('relative standard uncertainty', titration.relativeSd ?? 0, 0, 0.5);
  return (1000 * edta_mol_L * predilutionFactor) / sample_mL;
}

function content(mmol_L: number, sd_mmol_L: number, molarMass_g_mol: number): IonContent {
  return { mmol_L, sd_mmol_L, mg_L: mmol_L * molarMass_g_mol, sd_mg_L: sd_mmol_L * molarMass_g_mol };
}

/**
 * Calcium by EDTA at high pH, where magnesium has fallen out as its hydroxide.
 *
 * @param volume_mL  titrant to the end point, 0 to 1000 mL
 * @throws OutOfRange  outside the limits stated here and in EdtaTitration
 * @source 1:1 complex; checked against fixtures/reference/calcium-magnesium-titrations.csv
 */
export function calciumFromEdta(titration: EdtaTitration, volume_mL: number): IonContent {
  const perMl = mmolPerLitrePerMl(titration);
  const calcium_mmol_L = perMl * within('EDTA for calcium, mL', volume_mL, 0, 1000);
  const sd_mmol_L = Math.hypot(perMl * (titration.volumeSd_mL ?? 0), calcium_mmol_L * (titration.relativeSd ?? 0));
  return content(calcium_mmol_L, sd_mmol_L, atomicWeight_g_mol.Ca);
}

/**
 * Calcium and magnesium together, by EDTA at pH 10.
 *
 * @param volume_mL  titrant to the end point, 0 to 1000 mL
 * @throws OutOfRange  as `calciumFromEdta`
 */
export function totalHardnessFromEdta(
  titration: EdtaTitration,
  volume_mL: number,
): { mmol_L: number; mg_L_CaCO3: number } {
  const mmol_L = mmolPerLitrePerMl(titration) * within('EDTA for calcium and magnesium, mL', volume_mL, 0, 1000);
  return { mmol_L, mg_L_CaCO3: mmol_L * calciumCarbonate_g_mol };
}

/**
 * Magnesium as total hardness less calcium, both titrated alike. The two volumes err on their own, so their uncertainties
 * add as squares; an error of strength or sample is shared and scales the difference.
 *
 * @param calciumVolume_mL  titrant for calcium alone, 0 to 1000 mL
 * @param totalVolume_mL    titrant for both, at least as much
 * @throws OutOfRange  as `calciumFromEdta`, and when calcium alone took more than both together
 * @source JCGM 100:2008, 5.1.2 for the uncertainty
 */
export function magnesiumByDifference(
  titration: EdtaTitration,
  calciumVolume_mL: number,
  totalVolume_mL: number,
): IonContent {
  const perMl = mmolPerLitrePerMl(titration);
  const calcium = within('EDTA for calcium, mL', calciumVolume_mL, 0, 1000);
  const total = within('EDTA for calcium and magnesium, mL', totalVolume_mL, calcium, 1000);
  const magnesium_mmol_L = perMl * (total - calcium);
  const ofVolumes = Math.SQRT2 * perMl * (titration.volumeSd_mL ?? 0);
  return content(
    magnesium_mmol_L,
    Math.hypot(ofVolumes, magnesium_mmol_L * (titration.relativeSd ?? 0)),
    atomicWeight_g_mol.Mg,
  );
}
