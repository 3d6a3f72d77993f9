import type { AcidPortion, GuidedSetup } from '#rules/titration/guided-setup.ts';
import { type Guidance, type GuidedPast, guideTitration } from '#rules/titration/guided-titration.ts';
import type { BeakerReading } from '#rules/titration/probe-at-rest.ts';
import { type BeakerTruth, gaussianFrom, simulatedBeaker } from './simulated-beaker.ts';

/** What a keeper enters who has a syringe of 0.01 mL, a kitchen balance and an acid of a lot with 0.3 %. */
export const usualSetup: GuidedSetup = {
  sample: { mass_g: 100 },
  sampleRelativeSd: 0.001,
  acid: { mol_kg: 0.1 },
  acidRelativeSd: 0.003,
  acidBy: 'g',
  acidStep: 0.01,
  salinity: 35,
  temperature_C: 25,
  airing: 'bubbled',
  expected_umol_kg: { value: 2450, sd: 150 },
  slopeRelativeSd: 0.01,
  readingResolution_ph: 0.01,
};

export const usualTruth: BeakerTruth = {
  ...{ salinity: 35, temperature_C: 25, alkalinity_umol_kg: 2500, dic_umol_kg: 2200, co2Time_s: 80 },
  ...{ sample_g: 100, acid_mol_kg: 0.1 },
  ...{ offset_ph: 0.08, slope: 1, lag_s: 8, noise_ph: 0.005, drift_ph_h: 0, resolution_ph: 0.01 },
};

/** A truth as a lot, a syringe, a balance and a calibration leave it open. */
export function drawnTruth(random: () => number, setup: GuidedSetup): BeakerTruth {
  const gaussian = gaussianFrom(random);
  const between = (low: number, high: number) => low + (high - low) * random();
  const alkalinity_umol_kg = between(1800, 3600);
  return {
    ...{ salinity: setup.salinity, temperature_C: setup.temperature_C, alkalinity_umol_kg },
    dic_umol_kg: alkalinity_umol_kg * between(0.86, 0.94),
    co2Time_s: between(60, 110),
    sample_g: 100 * (1 + setup.sampleRelativeSd * gaussian()),
    acid_mol_kg: 0.1 * (1 + setup.acidRelativeSd * gaussian()),
    offset_ph: 0.08 + 0.08 * gaussian(),
    slope: 1 + setup.slopeRelativeSd * gaussian(),
    lag_s: between(3, 15),
    noise_ph: between(0.002, 0.012),
    drift_ph_h: 0.01 * gaussian(),
    resolution_ph: 0.01,
  };
}

export type SimulatedOutcome = { guidance: Guidance; past: GuidedPast; took_s: number };

/**
 * A whole run by a hand that does what it is told, through the rules alone.
 *
 * @param meddle  what the hand does otherwise: another amount than it was told, or going on before the CO2 is gone, or a
 *   portion that is mistyped and put right 40 s later
 */
export function simulatedRun(
  setup: GuidedSetup,
  truth: BeakerTruth,
  random: () => number,
  meddle: {
    amount?: (told: number, portion: number) => number;
    goesOnAfter_s?: number;
    mostPortions?: number;
    mistyped?: number;
  } = {},
): SimulatedOutcome {
  const beaker = simulatedBeaker(truth, gaussianFrom(random));
  const portions: AcidPortion[] = [];
  const readings: BeakerReading[] = [];
  let goneOnMs: number | undefined;
  let poured = 0;
  let scaleError = 0;
  let handUntil_s = 0;
  let mistyped_s: number | undefined;
  for (let time_s = 1; time_s < 7200; time_s += 1) {
    beaker.goOnTo(time_s);
    readings.push({ timeMs: 1000 * time_s, ph: beaker.shown() });
    // A person looks now and then, and takes a few seconds to pour.
    if (time_s % 3 !== 0 || time_s < handUntil_s) continue;
    const last = portions.at(-1);
    if (mistyped_s !== undefined && last !== undefined) {
      if (time_s < mistyped_s + 40) continue;
      portions.splice(-1, 1, { timeMs: 1000 * time_s + 1, amount: last.amount / 1.5, maybeInSinceMs: last.timeMs });
      mistyped_s = undefined;
    }
    const past = { startedMs: 0, portions, readings, ...(goneOnMs === undefined ? {} : { goneOnMs }) };
    const guidance = guideTitration(setup, past, 1000 * time_s);
    const { deed } = guidance;
    if (deed.do === 'stop' || portions.length >= (meddle.mostPortions ?? 60)) return { guidance, past, took_s: time_s };
    const waitedForCo2_s = deed.do === 'wait' && deed.for === 'co2' ? time_s - deed.sinceMs / 1000 : 0;
    if (waitedForCo2_s > (meddle.goesOnAfter_s ?? Number.POSITIVE_INFINITY)) goneOnMs = 1000 * time_s;
    if (deed.do !== 'add') continue;
    const amount = meddle.amount?.(deed.amount, portions.length) ?? deed.amount;
    // The scale is read to its step: what is really in differs by up to a half of it, at each reading anew.
    const error = setup.acidStep * (random() - 0.5);
    beaker.add(Math.max(0, amount + error - scaleError));
    scaleError = error;
    poured += amount;
    if (portions.length === meddle.mistyped) mistyped_s = time_s;
    portions.push({ timeMs: 1000 * time_s + 1, amount: amount * (mistyped_s === undefined ? 1 : 1.5) });
    handUntil_s = time_s + 6;
  }
  throw new Error(`the run came to no end: ${poured} of acid in ${portions.length} portions`);
}
