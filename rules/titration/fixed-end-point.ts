import { within } from '../quantity/out-of-range.ts';
import { alkalinityLeft, phFreeAtAlkalinity, type TitrationChemistry } from './acid-balance.ts';

/**
 * The CO2 of a sample while it is titrated: all kept (`closed`), or at balance with the air (`open`), which holds so much
 * dissolved CO2 in it whatever the pH.
 */
export type CarbonInCell = { kind: 'closed'; dic_umol_kg: number } | { kind: 'open'; dissolvedCo2_umol_kg: number };

/** A sample and an acid. Mass 1 to 5000 g; strength 0.001 to 2 mol/kg. */
export type EndPointTitration = {
  chemistry: TitrationChemistry;
  sample_g: number;
  acid_mol_kg: number;
  carbon: CarbonInCell;
};

function checkAmounts({ sample_g, acid_mol_kg }: EndPointTitration): void {
  within('mass of the sample, g', sample_g, 1, 5000);
  within('strength of the acid, mol/kg', acid_mol_kg, 0.001, 2);
}

function inorganicCarbon({ chemistry: { k1, k2 }, carbon }: EndPointTitration): number | ((h: number) => number) {
  if (carbon.kind === 'closed') return within('inorganic carbon, µmol/kg', carbon.dic_umol_kg, 0, 20_000);
  const co2 = within('dissolved CO2, µmol/kg', carbon.dissolvedCo2_umol_kg, 0, 2000);
  return (h) => co2 * (1 + k1 / h + (k1 * k2) / (h * h));
}

/**
 * What a kilogram of sample and a kilogram of mixture hold of bases at a pH, mol/kg: the first is diluted by the acid, the
 * second is kept up by water and, in an open cell, by the air. So the acid for a pH follows without any search.
 */
function basesAtPh(titration: EndPointTitration, phFree: number): { ofSample: number; ofMixture: number } {
  checkAmounts(titration);
  const h = 10 ** -within('free pH', phFree, 2.5, 10);
  const carbon = inorganicCarbon(titration);
  const { chemistry } = titration;
  const ofMixture = alkalinityLeft(chemistry, h, 0, carbon);
  const ofBoth = alkalinityLeft(chemistry, h, 1, carbon);
  return { ofSample: ofBoth - ofMixture, ofMixture };
}

/**
 * Acid that brings a sample to a pH.
 *
 * @param totalAlkalinity_umol_kg  0 to 20,000
 * @param phFree                   free scale, 2.5 to 10
 * @returns g of acid; negative when the sample is already more acid than that
 * @throws OutOfRange  outside these limits
 * @source the balance of Dickson, Sabine & Christian 2007, SOP 3; checked against fixtures/reference/titration-endpoints.csv
 */
export function acidToPh(titration: EndPointTitration, totalAlkalinity_umol_kg: number, phFree: number): number {
  const alkalinity = 1e-6 * within('total alkalinity, µmol/kg', totalAlkalinity_umol_kg, 0, 20_000);
  const { ofSample, ofMixture } = basesAtPh(titration, phFree);
  return (titration.sample_g * (alkalinity - ofSample - ofMixture)) / (titration.acid_mol_kg + ofMixture);
}

/**
 * True total alkalinity from the acid that a titration to one fixed pH took. Taking the acid alone as the alkalinity
 * (`apparentAlkalinity_umol_kg`) is wrong by up to 90 µmol/kg (0.26 dKH), by the pH chosen and by what the CO2 did.
 *
 * @param acid_g  0 to 5000
 * @param phFree  where it was stopped, free scale, 2.5 to 10
 * @returns µmol/kg
 * @throws OutOfRange  outside these limits
 * @source the inverse of `acidToPh`
 */
export function alkalinityFromAcidToPh(titration: EndPointTitration, acid_g: number, phFree: number): number {
  const acid = within('acid, g', acid_g, 0, 5000);
  const { ofSample, ofMixture } = basesAtPh(titration, phFree);
  const { sample_g, acid_mol_kg } = titration;
  return 1e6 * ((acid * (acid_mol_kg + ofMixture)) / sample_g + ofSample + ofMixture);
}

/**
 * The alkalinity that a reader takes who counts the acid as all used: acid over sample.
 *
 * @param acid_g  0 to 5000
 * @returns µmol/kg
 * @throws OutOfRange  outside these limits and those of EndPointTitration
 */
export function apparentAlkalinity_umol_kg(titration: EndPointTitration, acid_g: number): number {
  checkAmounts(titration);
  return (1e6 * within('acid, g', acid_g, 0, 5000) * titration.acid_mol_kg) / titration.sample_g;
}

/**
 * Free pH at true equivalence: acid equal to the alkalinity. Near NBS 4.3 to 4.5 with all CO2 kept, near 5.5 in the open.
 *
 * @throws OutOfRange  for an alkalinity outside 0 to 20,000 µmol/kg, or outside the limits of EndPointTitration
 */
export function equivalencePhFree(titration: EndPointTitration, totalAlkalinity_umol_kg: number): number {
  checkAmounts(titration);
  const { chemistry, sample_g, acid_mol_kg } = titration;
  const alkalinity = within('total alkalinity, µmol/kg', totalAlkalinity_umol_kg, 0, 20_000);
  const acid_g = (1e-6 * sample_g * alkalinity) / acid_mol_kg;
  return phFreeAtAlkalinity(chemistry, 0, sample_g / (sample_g + acid_g), inorganicCarbon(titration));
}
