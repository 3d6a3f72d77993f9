import { dayMs } from '../clock/durations.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** How long something takes at a steady temperature. */
export type DaysAtTemperature = { days: number; temperature_C: number };

/**
 * Growth that speeds up in step with warmth above a threshold: every stage ends after so many degree-days (°C × days above
 * the threshold).
 */
export type Development = {
  threshold_C: number;
  /** °C between which it was measured; beyond them it is carried on in a straight line. */
  measuredFrom_C: number;
  measuredTo_C: number;
};

/**
 * Threshold and degree-days of a stage from its length at two temperatures.
 *
 * @param cooler, warmer  0.1 to 1000 days, −2 to 40 °C; the warmer is shorter
 * @returns the threshold in °C, below both, and the degree-days of the stage
 * @throws OutOfRange  outside these limits
 * @source linear degree-day model: days × (temperature − threshold) is the same at both
 */
export function developmentFromTwo(
  cooler: DaysAtTemperature,
  warmer: DaysAtTemperature,
): { development: Development; degreeDays: number } {
  for (const { days, temperature_C } of [cooler, warmer]) {
    within('days of a stage', days, 0.1, 1000);
    within('temperature, °C', temperature_C, -2, 40);
  }
  if (!(warmer.temperature_C > cooler.temperature_C && warmer.days < cooler.days)) {
    throw new OutOfRange('days at the warmer temperature', warmer.days, `less than the ${cooler.days} at the cooler`);
  }
  const threshold_C =
    (cooler.days * cooler.temperature_C - warmer.days * warmer.temperature_C) / (cooler.days - warmer.days);
  const development = { threshold_C, measuredFrom_C: cooler.temperature_C, measuredTo_C: warmer.temperature_C };
  return { development, degreeDays: degreeDaysOf(warmer, development) };
}

/** Degree-days of a stage whose length is known at one temperature above the threshold. */
export function degreeDaysOf({ days, temperature_C }: DaysAtTemperature, { threshold_C }: Development): number {
  const degreeDays = days * (temperature_C - threshold_C);
  if (!(degreeDays > 0)) throw new OutOfRange('degree-days', degreeDays, 'above 0: a temperature above the threshold');
  return degreeDays;
}

/** Mean temperature of a day that begins at `startMs` and holds for 24 hours, or until the next day begins. */
export type DayTemperature = { startMs: number; temperature_C: number };

/** The tank's warmth: what was measured, and what is expected where nothing was. */
export type Warmth = {
  /** In any order, each day once, 5 to 40 °C. */
  measured: readonly DayTemperature[];
  /** 5 to 40 °C; the mean of the last seven days measured unless given. */
  expected_C?: number;
};

export type Ripening = {
  atMs: number;
  /** Part of the way that rests on measured days, 0 to 1; the rest is expectation and will move. */
  measuredShare: number;
  /** Some day on the way lay outside the temperatures at which the pest was studied. */
  isExtrapolated: boolean;
};

/** A stage that takes longer is not waited for. */
const mostDays = 730;

/** Days from which the expectation is made. */
const expectationDays = 7;

/** What the tank is expected to hold. @throws OutOfRange  without a day measured or a number given */
export function expectedTemperature({ measured, expected_C }: Warmth): number {
  if (expected_C !== undefined) return within('expected temperature, °C', expected_C, 5, 40);
  const last = [...measured].sort((one, other) => other.startMs - one.startMs).slice(0, expectationDays);
  if (last.length === 0) throw new OutOfRange('days with a temperature', 0, '1 or more, or an expected temperature');
  return (
    last.reduce((sum, { temperature_C }) => sum + within('temperature, °C', temperature_C, 5, 40), 0) / last.length
  );
}

/**
 * When a stage that began at `fromMs` is through.
 *
 * @param degreeDays  0 or more
 * @returns undefined when two years are not enough: the tank is too cold for it
 * @throws OutOfRange  outside these limits and those of Warmth
 */
export function ripeAfter(
  fromMs: number,
  degreeDays: number,
  development: Development,
  warmth: Warmth,
): Ripening | undefined {
  within('degree-days', degreeDays, 0, 1e5);
  const expected_C = expectedTemperature(warmth);
  const days = [...warmth.measured].sort((one, other) => one.startMs - other.startMs);
  let [atMs, left, measuredMs, isExtrapolated] = [fromMs, degreeDays, 0, false];
  while (left > 0) {
    if (atMs - fromMs > mostDays * dayMs) return undefined;
    const span = spanAt(atMs, days, expected_C);
    const { measuredFrom_C, measuredTo_C, threshold_C } = development;
    const perMs = Math.max(0, within('temperature, °C', span.temperature_C, 5, 40) - threshold_C) / dayMs;
    // Endless where it is too cold to grow.
    const needMs = left / perMs;
    const passedMs = Math.min(span.endMs - atMs, needMs);
    isExtrapolated ||= span.temperature_C < measuredFrom_C || span.temperature_C > measuredTo_C;
    if (span.isMeasured) measuredMs += passedMs;
    left = needMs <= passedMs ? 0 : left - passedMs * perMs;
    atMs += passedMs;
  }
  return { atMs, measuredShare: atMs > fromMs ? measuredMs / (atMs - fromMs) : 1, isExtrapolated };
}

/** The stretch of one temperature that begins at a time: the rest of a measured day, or expectation up to the next one. */
function spanAt(atMs: number, days: readonly DayTemperature[], expected_C: number) {
  const next = days.find(({ startMs }) => startMs > atMs)?.startMs ?? Number.POSITIVE_INFINITY;
  const day = days.findLast(({ startMs }) => startMs <= atMs && atMs < startMs + dayMs);
  if (day !== undefined) {
    return { endMs: Math.min(next, day.startMs + dayMs), temperature_C: day.temperature_C, isMeasured: true };
  }
  return { endMs: Math.min(next, atMs + dayMs), temperature_C: expected_C, isMeasured: false };
}
