import { dayMs } from '../../clock/durations.ts';
import { metricFacts } from '../../quantity/metric.ts';
import { amountText } from '../../words/value-text.ts';
import type { Condition } from '../condition.ts';
import { middleOf } from '../five-minute-median.ts';
import { type AlarmKind, dosedMetrics, untilNext } from './kind.ts';

/** Reports younger than this may already belong to the change. */
const leastAgeDays = 3;
const mostAgeDays = 28;
const leastReports = 4;
/** A demand known worse than to half of itself, as after the first tests of a system, is not what was usual. */
const mostSdShare = 0.5;
/** A difference below two of its standard deviations may be the estimate's own noise. */
const deviations = 2;

/** One estimate of a day. */
export type DemandReport = { timeMs: number; perDay: number; sd: number };

/** Keeps the last report of each day of the last four weeks, oldest first. */
export function withReport(reports: readonly DemandReport[], report: DemandReport): DemandReport[] {
  const day = Math.floor(report.timeMs / dayMs);
  return [
    ...reports.filter(
      ({ timeMs }) => Math.floor(timeMs / dayMs) < day && report.timeMs - timeMs <= (mostAgeDays + 1) * dayMs,
    ),
    report,
  ];
}

/** What the demand was before the last days: a median; undefined while it is known of fewer than four days. */
export function usualDemand(reports: readonly DemandReport[], nowMs: number): number | undefined {
  const old = reports.filter(
    ({ timeMs, perDay, sd }) => nowMs - timeMs >= leastAgeDays * dayMs && sd <= mostSdShare * perDay,
  );
  return old.length < leastReports ? undefined : middleOf(old.map(({ perDay }) => perDay));
}

/**
 * The demand is no longer what it was.
 *
 * @param limit     share of the usual demand, 0 to 1
 * @param deadband  share of the usual demand
 */
export function demandCondition(reports: readonly DemandReport[], limit: number, deadband: number): Condition {
  const now = reports.at(-1);
  if (now === undefined) return 'unknown';
  const usual = usualDemand(reports, now.timeMs);
  if (usual === undefined || usual <= 0) return 'unknown';
  const change = Math.abs(now.perDay - usual);
  if (change > limit * usual && change > deviations * now.sd) return 'abnormal';
  return change > (limit - deadband) * usual ? 'deadband' : 'normal';
}

export const demandChanged: AlarmKind<'demand_changed', never, 'demandChanged'> = {
  id: 'demand_changed',
  means: 'The corals use clearly more or less alkalinity, calcium or magnesium than before.',
  firstLook:
    'test again. More: growth, new corals. Less: look for a coral that has closed up, an old salt batch, a cold or dirty tank.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {},
  elsewhere: {
    demandChanged: {
      defaults: ({ metric }) =>
        dosedMetrics.has(metric)
          ? {
              ...untilNext,
              priority: 'low',
              limit: 0.3,
              deadband: 0.15,
            }
          : undefined,
      judge: {
        each: 'demand',
        of({ plan: { metric, units }, settings, analyte }) {
          const label = metricFacts[metric].label.toLowerCase();
          const now = analyte.demand.at(-1)!;
          const perDay = `${amountText(metric, now.perDay, units)} a day`;
          const usual = usualDemand(analyte.demand, now.timeMs) ?? now.perDay;
          const way = now.perDay > usual ? 'more' : 'less';
          return {
            condition: demandCondition(analyte.demand, settings.limit, settings.deadband),
            raised: () =>
              `The system uses ${way} ${label} than before: ${perDay}, it was ${amountText(metric, usual, units)}. Test again, look at the corals, and adjust the dosing only when a second test agrees.`,
            cleared: () => `The demand for ${label} is near its usual again: ${perDay}.`,
          };
        },
      },
    },
  },
};
