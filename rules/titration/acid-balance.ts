/**
 * The equilibria that a titration of seawater with strong acid runs through, at one salinity and temperature.
 * Constants on the **free** hydrogen ion scale, mol/kg (Kw mol²/kg²); totals of the sample in µmol/kg.
 */
export type TitrationChemistry = {
  k1: number;
  k2: number;
  kb: number;
  kw: number;
  ks: number;
  kf: number;
  totalBoron_umol_kg: number;
  totalSulfate_umol_kg: number;
  totalFluoride_umol_kg: number;
  /** Phosphate and its three constants; left out where it does not matter (below 1 µmol/kg it changes nothing seen). */
  phosphate?: { total_umol_kg: number; kp1: number; kp2: number; kp3: number };
};

/** The sample as it stands in the vessel: its mass, its alkalinity, and the inorganic carbon that stays in it. */
export type TitratedSample = { mass_g: number; totalAlkalinity_umol_kg: number; dic_umol_kg: number };

/**
 * Alkalinity by Dickson's definition that is left in a mixture at a hydrogen ion content, from the species it holds.
 *
 * @param h             free hydrogen ions, mol/kg, above 0
 * @param dilution      share of the mixture that is sample, above 0 to 1
 * @param dic_umol_kg   of the undiluted sample, or a function of h where CO2 is held by the air instead of by the sample
 * @returns mol/kg of mixture, negative once the acid is in excess
 * @source Dickson 1981; Dickson, Sabine & Christian 2007, SOP 3
 */
export function alkalinityLeft(
  chemistry: TitrationChemistry,
  h: number,
  dilution: number,
  dic_umol_kg: number | ((h: number) => number),
): number {
  const { k1, k2, kb, kw, ks, kf, phosphate } = chemistry;
  const dic = typeof dic_umol_kg === 'number' ? dic_umol_kg * dilution : dic_umol_kg(h);
  const carbonate = (dic * k1 * (h + 2 * k2)) / (h * h + k1 * h + k1 * k2);
  const borate = (chemistry.totalBoron_umol_kg * dilution) / (1 + h / kb);
  const bisulfate = (chemistry.totalSulfate_umol_kg * dilution) / (1 + ks / h);
  const hydrogenFluoride = (chemistry.totalFluoride_umol_kg * dilution) / (1 + kf / h);
  let phosphates = 0;
  if (phosphate) {
    const { kp1, kp2, kp3 } = phosphate;
    const [p0, p1, p2, p3] = [h ** 3, kp1 * h * h, kp1 * kp2 * h, kp1 * kp2 * kp3];
    phosphates = (phosphate.total_umol_kg * dilution * (p2 + 2 * p3 - p0)) / (p0 + p1 + p2 + p3);
  }
  return 1e-6 * (carbonate + borate + phosphates - bisulfate - hydrogenFluoride) + kw / h - h;
}

/**
 * Alkalinity that must be left after so much acid: what the sample brought less what the acid took, spread over the mixture.
 *
 * @returns mol/kg of mixture
 */
export function alkalinityAfterAcid(sample: TitratedSample, acid_g: number, acid_mol_kg: number): number {
  return (sample.mass_g * 1e-6 * sample.totalAlkalinity_umol_kg - acid_g * acid_mol_kg) / (sample.mass_g + acid_g);
}

/** Free pH of which the charge balance cannot be beyond, whatever the sample: 10 mol/kg of acid to 10 mol/kg of lye. */
const lowestPh = -1;
const highestPh = 15;

/**
 * Free-scale pH at which the mixture holds a given alkalinity. The alkalinity left falls without a break as acid is added,
 * so there is one answer, and halving the interval always finds it.
 *
 * @param wanted_mol_kg  alkalinity of the mixture, from about -10 to 10 mol/kg
 * @returns pH on the free scale, from -1 to 15
 */
export function phFreeAtAlkalinity(
  chemistry: TitrationChemistry,
  wanted_mol_kg: number,
  dilution: number,
  dic_umol_kg: number | ((h: number) => number),
): number {
  let low = lowestPh;
  let high = highestPh;
  // 50 halvings of 16 pH units end below 2e-14.
  for (let step = 0; step < 50; step += 1) {
    const middle = (low + high) / 2;
    if (alkalinityLeft(chemistry, 10 ** -middle, dilution, dic_umol_kg) > wanted_mol_kg) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/**
 * Free-scale pH of the mixture after so much acid, by the whole balance.
 *
 * @param acid_g       acid added so far, g, 0 or more
 * @param acid_mol_kg  strength of the acid, mol/kg of acid
 */
export function phFreeAfterAcid(
  chemistry: TitrationChemistry,
  sample: TitratedSample,
  acid_g: number,
  acid_mol_kg: number,
): number {
  const dilution = sample.mass_g / (sample.mass_g + acid_g);
  return phFreeAtAlkalinity(chemistry, alkalinityAfterAcid(sample, acid_g, acid_mol_kg), dilution, sample.dic_umol_kg);
}
