import type { Quality, Reading } from '#rules/quality/reading.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { conductivityFromLinearCompensation } from '#rules/seawater/conductivity-probe.ts';
import { practicalSalinityFromConductivity } from '#rules/seawater/practical-salinity.ts';
import { specificGravity25FromSalinity } from '#rules/seawater/specific-gravity.ts';
import type { BoundProbe, Derivation } from './bound-probe.ts';

/**
 * Stage "derived values": salinity and specific gravity from a conductivity reading and the temperature of the same
 * water. Without a fresh good temperature there is no salinity, and the reading says why: a wrong one would be dosed on.
 */
export function derivedReadings(probe: BoundProbe, reading: Reading): Reading[] {
  const derivation = probe.derivation;
  if (derivation === undefined) return [];
  const salinity = salinityOf(derivation, reading);
  return [
    { series: derivation.salinity, timeMs: reading.timeMs, quality: salinity },
    { series: derivation.specificGravity, timeMs: reading.timeMs, quality: specificGravityOf(salinity) },
  ];
}

function salinityOf(derivation: Derivation, reading: Reading): Quality {
  const conductivity = reading.quality;
  if (conductivity.flag === 'missing' || conductivity.flag === 'fail') {
    return { flag: 'missing', why: 'the conductivity reading cannot be used' };
  }
  const partner = derivation.temperatureProbe;
  if (partner === undefined) return { flag: 'missing', why: 'no temperature probe is configured for this water' };
  const temperature = partner.lastGood;
  if (temperature === undefined) return { flag: 'missing', why: `no temperature from ${partner.id} so far` };
  const ageMs = Math.abs(reading.timeMs - temperature.timeMs);
  if (ageMs > derivation.temperatureAtMostMsOld) {
    const seconds = Math.round(ageMs / 1000);
    const most = Math.round(derivation.temperatureAtMostMsOld / 1000);
    return { flag: 'missing', why: `the temperature from ${partner.id} is ${seconds} s old, allowed ${most} s` };
  }
  try {
    const conductivity_mS_cm =
      derivation.compensation_percent_per_C === undefined
        ? conductivity.value
        : conductivityFromLinearCompensation(
            conductivity.value,
            temperature.value,
            derivation.compensation_percent_per_C,
          );
    const salinity = practicalSalinityFromConductivity(conductivity_mS_cm, temperature.value);
    return { ...conductivity, value: rounded(salinity, 4) };
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    return { flag: 'missing', why: `no salinity: ${error.message}` };
  }
}

function specificGravityOf(salinity: Quality): Quality {
  if (salinity.flag === 'missing' || salinity.flag === 'fail') {
    return { flag: 'missing', why: 'there is no salinity to compute it from' };
  }
  return { ...salinity, value: rounded(specificGravity25FromSalinity(salinity.value), 6) };
}

/**
 * To a hundredth of what a good probe resolves: the digits behind it are those of the arithmetic, and to store them took more
 * than to store all that was measured.
 */
function rounded(value: number, digits: number): number {
  const scale = 10 ** digits;
  return Math.round(value * scale) / scale;
}
