import { dayMs, hourMs } from '../clock/durations.ts';
import {
  carriedTest,
  isFresh,
  probeSd,
  type SalinityAdviceInput,
  type SalinityLevel,
} from './advice-salinity-level.ts';
import type { HoldBack, HoldBackRule } from './advice-types.ts';
import { salinityChangeText, salinityText } from './salinity-text.ts';
import { soundSalinity } from './water-facts.ts';

/** Conductivity moves by 2 % for each °C: an old temperature makes a false salinity within the hour. */
const temperatureGoodForMs = hourMs;
/** Probe and test further apart than so many standard deviations are not two views of one water. */
const apartSds = 2.5;
/**
 * A change a day that no dosing makes: 0.15 at 35 is 0.4 % of the water, where 0.5 to 2 % evaporate.
 * @source common practice, no published source
 */
const faultPerDay = 0.15;

type Rule = { rule: HoldBackRule; whenTrue: (input: SalinityAdviceInput, level: SalinityLevel) => string | undefined };

const rules: readonly Rule[] = [
  {
    rule: 'suspect_salinity',
    whenTrue: ({ probe, units }, { level }) => {
      const isSound = level >= soundSalinity.low && level <= soundSalinity.high;
      if (isSound && !(probe?.isSuspect === true && isFresh(probe))) return undefined;
      return `Salinity reads ${salinityText(level, 1, units)} and is in doubt. Clean the probe, look for air bubbles, check it in a standard, and test by another instrument first.`;
    },
  },
  {
    rule: 'stale_temperature',
    whenTrue: ({ probe }) => {
      const ageMs = probe?.temperatureAgeMs;
      if (ageMs === undefined || !isFresh(probe!) || ageMs <= temperatureGoodForMs) return undefined;
      return `The temperature behind the salinity is ${(ageMs / hourMs).toFixed(1)} hours old, and 1 °C is 2 % of conductivity. Fix the temperature probe first.`;
    },
  },
  {
    rule: 'probe_and_test_disagree',
    whenTrue: (input) => {
      const { probe, lastTest, units } = input;
      const test = carriedTest(input);
      if (probe === undefined || test === undefined || lastTest === undefined || !isFresh(probe)) return undefined;
      const most = apartSds * Math.hypot(probeSd(probe), test.sd);
      const apart = Math.abs(test.value - probe.level);
      if (apart <= most) return undefined;
      return (
        `The probe reads ${salinityText(probe.level, 1, units)} and the test of ${((input.nowMs - lastTest.timeMs) / dayMs).toFixed(1)} days ago ` +
        `(${salinityText(lastTest.value, 1, units)}) says ${salinityText(test.value, 1, units)}: ${salinityChangeText(apart, 1, units)} apart where ${salinityChangeText(most, 1, units)} is usual. ` +
        'Check both in one standard, calibrate, and test again first.'
      );
    },
  },
  { rule: 'evaporation_or_top_off_fault', whenTrue: topOffFault },
  {
    rule: 'interval_wider_than_band',
    whenTrue: ({ system, units }, { sd }) => {
      const width = 2 * 1.96 * sd;
      const bandWidth = system.band.high - system.band.low;
      if (width <= bandWidth) return undefined;
      return `Salinity is known only within ${salinityChangeText(width, 1, units)}, wider than the band (${salinityChangeText(bandWidth, 1, units)}). Measure again first, by a better instrument.`;
    },
  },
];

function topOffFault({ probe, driftPerDay, advisedPerDay, system, units }: SalinityAdviceInput): string | undefined {
  if (probe?.perDay === undefined || !isFresh(probe)) return undefined;
  const { low95, middle, high95 } = probe.perDay;
  const explained = driftPerDay + (advisedPerDay ?? 0);
  const says = `Salinity ${middle > 0 ? 'rises' : 'falls'} by ${salinityChangeText(Math.abs(middle), 2, units)} a day, and the salts dosed explain ${salinityChangeText(driftPerDay, 2, units)}.`;
  const litres = (system.volumeL * Math.abs(middle)) / probe.level;
  if (low95 - Math.max(0, driftPerDay, explained) > faultPerDay) {
    return `${says} So does water of which ${litres.toFixed(1)} L a day evaporate and are not replaced. Look at the top-off (reservoir, float, pump) and at the water level mark, and fix the cause first.`;
  }
  if (Math.min(0, driftPerDay, explained) - high95 > faultPerDay) {
    return `${says} So does a top-off that gives ${litres.toFixed(1)} L a day too much, or salt water that leaks and is replaced by fresh. Stop the top-off, look at the water level mark, and fix the cause first.`;
  }
  return undefined;
}

/** The reasons not to move the salinity on these data, each in its own words. Empty when the data carry it. */
export function salinityHoldBacks(input: SalinityAdviceInput, level: SalinityLevel | undefined): HoldBack[] {
  if (level === undefined) {
    const text = 'Salinity is not known now: no probe has reported for hours, and no test is recent. Measure it first.';
    return [{ rule: 'no_salinity', text }];
  }
  return rules.flatMap(({ rule, whenTrue }) => {
    const text = whenTrue(input, level);
    return text === undefined ? [] : [{ rule, text }];
  });
}
