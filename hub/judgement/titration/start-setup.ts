import { dayMs } from '#rules/clock/durations.ts';
import { meqPerLFromDkh } from '#rules/quantity/alkalinity-unit.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import type { GuidedSetup } from '#rules/titration/guided-setup.ts';
import type { KeptCalibration } from '../../flow/calibration/calibrations.ts';
import type { TitrationStart } from '../../model/entries/titration-entry.ts';
import { Refused } from '../../model/refusals/refused.ts';

/** Of a sample that was measured with a pipette or weighed on a kitchen balance. Common practice, no published source */
const sampleSd_percent = { volume: 0.5, mass: 0.1 };

/**
 * Standard uncertainty of a slope, as a share. After two buffers 3 pH apart, each with 0.01 (the usual doubt of a buffer), it is 0.5 %,
 * and an electrode loses about as much in some weeks; without buffers electrodes in service lie within 0.93 to 1.02. Common practice, no
 * published source
 */
const slopeRelativeSd = { calibrated: 0.01, notCalibrated: 0.03 };
const calibratedFor_ms = 60 * dayMs;

/** The last digit of most meters. Common practice, no published source */
const readingResolution_ph = 0.01;

/** Of a tank that was never tested: most reef tanks lie within 6 to 11 dKH. Common practice, no published source */
const unknownTank_dKH = { value: 8, sd: 1.5 };
/** A level that is told surer than this may still be off by the bias of its kit. Common practice, no published source */
const leastSdShare = 0.04;

/** What the hub knows of tank and probe at the start. */
export type KnownAtStart = {
  salinity: number | undefined;
  temperature_C: number | undefined;
  alkalinity_dKH: { value: number; sd: number } | undefined;
  calibration: KeptCalibration | undefined;
};

/**
 * All that the rules want to know, from what a person said and what the hub knows.
 *
 * @throws Refused not_known  where neither says the salinity or the temperature of the sample
 */
export function setupOf(start: TitrationStart, known: KnownAtStart, nowMs: number): GuidedSetup {
  const salinity = start.salinity ?? known.salinity;
  const temperature_C = start.temperature_c ?? known.temperature_C;
  if (salinity === undefined) throw new Refused('not_known', `the salinity of ${start.system} is not known: give it`);
  if (temperature_C === undefined) {
    throw new Refused('not_known', `the temperature of ${start.system} is not known: give that of the sample`);
  }
  const { sample_ml, sample_g, acid_mol_l, acid_mol_kg } = start;
  const usualSd = sample_g === undefined ? sampleSd_percent.volume : sampleSd_percent.mass;
  const tank = known.alkalinity_dKH ?? unknownTank_dKH;
  const umol_kg_of_dKH = (dKH: number) =>
    (1e6 * meqPerLFromDkh(dKH)) / densityFromSalinityEos80(salinity, temperature_C);
  return {
    sample: sample_g === undefined ? { volume_mL: sample_ml ?? 0 } : { mass_g: sample_g },
    sampleRelativeSd: (start.sample_sd_percent ?? usualSd) / 100,
    acid: acid_mol_kg === undefined ? { mol_L: acid_mol_l ?? 0 } : { mol_kg: acid_mol_kg },
    acidRelativeSd: start.acid_sd_percent / 100,
    acidBy: start.acid_by === 'ml' ? 'mL' : 'g',
    acidStep: start.acid_step,
    salinity,
    temperature_C,
    airing: start.airing,
    readingResolution_ph,
    expected_umol_kg: {
      value: umol_kg_of_dKH(tank.value),
      sd: umol_kg_of_dKH(Math.max(tank.sd, leastSdShare * tank.value)),
    },
    slopeRelativeSd: slopeRelativeSd[isSlopeKnown(known.calibration, nowMs) ? 'calibrated' : 'notCalibrated'],
  };
}

/** True where two buffers or more have told the slope, not long ago. */
function isSlopeKnown(calibration: KeptCalibration | undefined, nowMs: number): boolean {
  if (calibration?.body.kind !== 'ph' || nowMs - calibration.entry.timeMs > calibratedFor_ms) return false;
  return calibration.body.verdict.state === 'good';
}
