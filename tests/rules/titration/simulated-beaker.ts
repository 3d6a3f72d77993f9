import { phFreeAfterAcid, type TitrationChemistry } from '#rules/titration/acid-balance.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';

/** What is true of a sample, its acid, the hand and the probe; the hub knows none of it, but what a keeper would enter. */
export type BeakerTruth = {
  salinity: number;
  temperature_C: number;
  alkalinity_umol_kg: number;
  dic_umol_kg: number;
  /** Time in which CO2 falls to 1/e at low pH, s. */
  co2Time_s: number;
  sample_g: number;
  acid_mol_kg: number;
  /** Electrode: what it shows is offset and steeper or flatter about pH 7 than the true free pH, and comes late. */
  offset_ph: number;
  slope: number;
  lag_s: number;
  noise_ph: number;
  drift_ph_h: number;
  /** Last digit that the board sends. */
  resolution_ph: number;
};

/** CO2 of water in balance with the air, µmol/kg: what stays. Weiss 1974 gives about 12 for 420 µatm, salinity 35, 25 °C. */
const co2InAir_umol_kg = 12;

export type SimulatedBeaker = {
  /** Goes on to this time, s since the start. */
  goOnTo(time_s: number): void;
  /** Acid goes in at once, g. */
  add(grams: number): void;
  /** What the board would send now. */
  shown(): number;
};

/**
 * A beaker on a stirrer: acid, CO2 that leaves by a first-order law through the surface, and a glass electrode.
 *
 * @param gaussian  standard normal numbers
 */
export function simulatedBeaker(truth: BeakerTruth, gaussian: () => number): SimulatedBeaker {
  const chemistry: TitrationChemistry = titrationChemistry(truth.salinity, truth.temperature_C);
  let time_s = 0;
  let acid_g = 0;
  let dic_umol_kg = truth.dic_umol_kg;
  const phNow = () =>
    phFreeAfterAcid(
      chemistry,
      { mass_g: truth.sample_g, totalAlkalinity_umol_kg: truth.alkalinity_umol_kg, dic_umol_kg },
      acid_g,
      truth.acid_mol_kg,
    );
  let ph = phNow();
  let felt = ph;
  return {
    goOnTo(until_s) {
      for (; time_s < until_s; time_s += 1) {
        const h = 10 ** -ph;
        const { k1, k2 } = chemistry;
        const co2_umol_kg = (dic_umol_kg * h * h) / (h * h + k1 * h + k1 * k2);
        dic_umol_kg -= Math.max(0, co2_umol_kg - co2InAir_umol_kg) / truth.co2Time_s;
        ph = phNow();
        felt += (ph - felt) * (1 - Math.exp(-1 / truth.lag_s));
      }
    },
    add(grams) {
      acid_g += grams;
      ph = phNow();
    },
    shown() {
      const drift = (truth.drift_ph_h * time_s) / 3600;
      const exact = 7 + truth.slope * (felt - 7) + truth.offset_ph + drift + truth.noise_ph * gaussian();
      return Number((Math.round(exact / truth.resolution_ph) * truth.resolution_ph).toFixed(6));
    },
  };
}

/** Standard normal numbers from even ones. @source Box & Muller 1958, Ann. Math. Stat. 29:610 */
export function gaussianFrom(random: () => number): () => number {
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
