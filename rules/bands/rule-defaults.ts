import type { Metric } from '../quantity/metric.ts';
import type { MetricDefaults } from './metric-defaults.ts';
import type { RuleSettings } from './rule-settings.ts';
import type { Band, Priority, RuleKind, RuleOverride, WatchedSystem } from './watched-room.ts';

/** A rule before the keeper's overrides. One that is off by default may be switched on. */
export type Draft = { isEnabled: boolean; settings: RuleSettings };

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const dayMs = 24 * hourMs;

/** How long an acknowledged alarm may stand before it is raised again: long enough to mend, short enough to remember. */
const reAlarmMs: Record<Priority, number> = { high: 8 * hourMs, medium: dayMs, low: 7 * dayMs };

/** Longer than a few lost lines, shorter than a night without data. A slower stream stretches it to three of its intervals. */
const gapToleranceMs = 10 * minuteMs;

/** True where an entry of the configuration's rules speaks of this rule. */
export function allows(override: RuleOverride, rule: RuleKind, system: string, metric: Metric): boolean {
  return (
    override.rule === rule &&
    (override.system === undefined || override.system === system) &&
    (override.metric === undefined || override.metric === metric)
  );
}

/**
 * The rules that a metric gets from its band and its nature. Fractions of a band are common practice, no published source.
 *
 * @param band  in the metric's store unit; without one, only the rules about the probe itself remain
 */
export function draftsForMetric(
  metric: Metric,
  band: Band | undefined,
  defaults: MetricDefaults,
  system: WatchedSystem,
) {
  const width = band === undefined ? 0 : band.high - band.low;
  const share = defaults.departureShare ?? 0.2;
  const draft = (rule: RuleKind, priority: Priority, rest: Partial<RuleSettings>, isEnabled = true): Draft => ({
    isEnabled,
    settings: {
      rule,
      priority,
      onDelayMs: 0,
      offDelayMs: 0,
      deadband: 0,
      limit: 0,
      gapToleranceMs,
      reAlarmMs: reAlarmMs[priority],
      ...rest,
    },
  });
  const inBand = {
    onDelayMs: defaults.onDelayMinutes * minuteMs,
    offDelayMs: defaults.offDelayMinutes * minuteMs,
    // A tenth of the band on each side is more than a sound probe's noise and leaves four fifths to return to.
    deadband: width / 10,
  };
  // Rules on five-minute medians see one value in five minutes, so their gaps are longer.
  const onMedians = { gapToleranceMs: 35 * minuteMs };
  // Evidence that comes when it comes has no gaps: what was last known stays.
  const untilNext = { gapToleranceMs: Number.MAX_SAFE_INTEGER };
  const second: Priority = defaults.outOfBand === 'high' ? 'medium' : 'low';
  const isDosed = metric === 'alkalinity' || metric === 'calcium' || metric === 'magnesium';
  const testDays = system.testEveryDays?.[metric] ?? (band === undefined ? undefined : defaults.testEveryDays);
  return {
    above: band && draft('out_of_band', defaults.outOfBand, { ...inBand, limit: band.high }),
    // Every night is dark: too little light is judged only where the keeper asks for it.
    below: band && draft('out_of_band', defaults.outOfBand, { ...inBand, limit: band.low }, metric !== 'par'),
    // A test is looked at by the person who made it: no delay, and the next good test clears it.
    testAbove: band && draft('out_of_band', defaults.outOfBand, { ...untilNext, limit: band.high }),
    testBelow: band && draft('out_of_band', defaults.outOfBand, { ...untilNext, limit: band.low }),
    rate: band && rateDraft(draft, band, second, metric),
    swing:
      band?.mostPerDay === undefined
        ? undefined // Without a stated limit the band itself is the limit of a day's swing.
        : draft('swing', second, {
            ...onMedians,
            limit: band.mostPerDay,
            deadband: band.mostPerDay / 10,
            onDelayMs: 10 * minuteMs,
            offDelayMs: 30 * minuteMs,
          }),
    // Two days ahead is time enough to act by day; sooner alarms would come from the weather.
    drift:
      band &&
      draft(
        'drift',
        'medium',
        {
          ...onMedians,
          limit: 48,
          deadband: 24,
          onDelayMs: 2 * hourMs,
          offDelayMs: 6 * hourMs,
          gapToleranceMs: 3 * hourMs,
        },
        defaults.departureShare !== undefined,
      ),
    forecast: band && draft('drift', 'medium', { ...untilNext, limit: 48, deadband: 12 }),
    departure:
      band &&
      draft(
        'departure',
        'low',
        // Half of the distance that raises it is back again.
        {
          ...onMedians,
          limit: share * width,
          deadband: (share * width) / 2,
          onDelayMs: 30 * minuteMs,
          offDelayMs: hourMs,
        },
        defaults.departureShare !== undefined,
      ),
    // The time without a word is the delay; the return must last, or a loose plug would report every contact.
    silent: draft('silent_probe', band === undefined ? 'low' : 'medium', {
      offDelayMs: 5 * minuteMs,
      gapToleranceMs: hourMs,
    }),
    flat: draft(
      'flat_line',
      band === undefined ? 'low' : 'medium',
      { limit: (defaults.flatAfterHours ?? 0) * hourMs, offDelayMs: 10 * minuteMs },
      defaults.flatAfterHours !== undefined,
    ),
    // Half of the last minutes' readings bad raises it, a tenth lets it go: see the module.
    impossible: draft('impossible_value', band === undefined ? 'low' : 'medium', {
      limit: 0.5,
      deadband: 0.4,
      offDelayMs: 10 * minuteMs,
    }),
    disagree:
      defaults.mayDiffer === undefined
        ? undefined
        : draft('probes_disagree', 'medium', {
            ...onMedians,
            limit: defaults.mayDiffer,
            deadband: defaults.mayDiffer / 4,
            // Water of two chambers mixes within the hour.
            onDelayMs: hourMs,
            offDelayMs: hourMs,
          }),
    demandChanged: draft('demand_changed', 'low', { ...untilNext, limit: 0.3, deadband: 0.15 }, isDosed),
    outOfStep: draft(
      'calcium_alkalinity_out_of_step',
      'low',
      { ...untilNext, limit: 0.4, deadband: 0.15 },
      metric === 'calcium',
    ),
    dosedNotMoved: draft('dosed_not_moved', 'medium', { ...untilNext, limit: 0.5, deadband: 0.2 }, isDosed),
    testOverdue: testDays === undefined ? undefined : draft('test_overdue', 'low', { ...untilNext, limit: testDays }),
    calibrationOverdue:
      defaults.calibrateEveryDays === undefined
        ? undefined
        : draft('calibration_overdue', 'low', { ...untilNext, limit: defaults.calibrateEveryDays }),
    containerLow: draft('container_low', 'low', { ...untilNext, limit: 5, deadband: 2 }, isDosed),
  };
}

function rateDraft(
  draft: (rule: RuleKind, priority: Priority, rest: Partial<RuleSettings>) => Draft,
  band: Band,
  priority: Priority,
  metric: Metric,
): Draft | undefined {
  // Lights switch and floats step: a fast change is their nature, unless the keeper says otherwise.
  const isStepping = metric === 'par' || metric === 'level' || metric === 'orp' || metric === 'pco2';
  if (isStepping && band.mostPerHour === undefined) return undefined;
  // Four tenths of the band in an hour take the water from the middle nearly to the edge: no time is left to wait for it.
  const limit = band.mostPerHour ?? 0.4 * (band.high - band.low);
  return draft('rate', priority, {
    limit,
    deadband: limit / 5,
    onDelayMs: 4 * minuteMs,
    offDelayMs: 10 * minuteMs,
    gapToleranceMs: 35 * minuteMs,
  });
}
