import { metricFacts } from '../quantity/metric.ts';
import type { AlarmEvent } from './alarm-event.ts';
import { calciumPerAlkalinity_mgL_per_dKH, outOfStepCondition } from './calcium-alkalinity.ts';
import { type Condition, conditionAbove, conditionBelow } from './condition.ts';
import { demandCondition, usualDemand, withReport } from './demand-changed.ts';
import { dosedNotMovedCondition } from './dosed-not-moved.ts';
import type { DemandEvidence, DoseEvidence, ForecastEvidence, TestEvidence } from './evidence.ts';
import { firstCheck } from './first-checks.ts';
import { feedRoomAlarm } from './room-alarm.ts';
import { analyteOf, type RoomIndex } from './room-index.ts';
import { planOf } from './room-rules.ts';
import type { AnalyteState, RoomState } from './room-state.ts';
import type { RuleSettings } from './rule-settings.ts';
import { amountText, bandText, durationText, valueText } from './words.ts';

/** The rules that are moved by tests, doses and what the estimator makes of them. */

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const mostTests = 12;
const dosesKeptMs = 14 * dayMs;
const mostDoses = 500;
/** Four in five: a forecast less sure than that is not worth an alarm, one below three in five takes it back. */
const sureEnough = 0.8;
const unsure = 0.6;

/** A test by hand: judged against the band at once, and the doses before it against what it shows. */
export function stepTest(
  index: RoomIndex,
  state: RoomState,
  test: TestEvidence,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const analyte = analyteOf(index, state, test.system, test.analyte);
  const plan = planOf(index.rules, test.system, test.analyte);
  if (analyte === undefined || plan === undefined) return;
  const { tests } = analyte;
  const known = { timeMs: test.timeMs, value: test.value, ...(test.sd === undefined ? {} : { sd: test.sd }) };
  analyte.tests = [...tests, known].sort((a, b) => a.timeMs - b.timeMs).slice(-mostTests);
  // A test entered late, older than one already known, says nothing about now.
  if (analyte.tests.at(-1) !== known) return;
  const { metric, band } = plan;
  const { label } = metricFacts[metric];
  const value = valueText(metric, test.value, plan.units);
  const { testAbove, testBelow } = plan.other;
  const judge = (side: 'high' | 'low', settings: RuleSettings, condition: Condition): void => {
    const way = side === 'high' ? 'above' : 'below';
    feedRoomAlarm(
      index,
      state,
      settings,
      {
        system: test.system,
        metric,
        tail: `/${side}/test`,
        value: test.value,
        say: () => ({
          raised: `${label} was ${value} at the last test, ${way} the band ${band === undefined ? '' : bandText(metric, band, plan.units)}. ${firstCheck(metric, side)}`,
          cleared: `${label} was ${value} at the last test, back in the band.`,
        }),
      },
      condition,
      nowMs,
      events,
    );
  };
  // A test within the band counts as a return: waiting for the middle of the band would ask for tests, not for water.
  if (testAbove !== undefined) judge('high', testAbove, conditionAbove(test.value, testAbove.limit, 0));
  if (testBelow !== undefined) judge('low', testBelow, conditionBelow(test.value, testBelow.limit, 0));
  judgeDoses(index, state, analyte, test.value, nowMs, events);
}

/** A dose: remembered until a test can show whether it arrived. */
export function stepDose(index: RoomIndex, state: RoomState, dose: DoseEvidence): void {
  if (dose.analyteRaised === undefined || dose.raisesBy === undefined) return;
  const analyte = analyteOf(index, state, dose.system, dose.analyteRaised);
  if (analyte === undefined) return;
  analyte.doses = [...analyte.doses, { timeMs: dose.timeMs, raisesBy: dose.raisesBy }]
    .filter(({ timeMs }) => dose.timeMs - timeMs <= dosesKeptMs)
    .sort((a, b) => a.timeMs - b.timeMs)
    .slice(-mostDoses);
}

/** @param value  of the newest test */
function judgeDoses(
  index: RoomIndex,
  state: RoomState,
  analyte: AnalyteState,
  value: number,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const { system, metric } = analyte;
  const plan = planOf(index.rules, system, metric);
  const settings = plan?.other.dosedNotMoved;
  if (plan === undefined || settings === undefined) return;
  const usual = usualDemand(analyte.demand, nowMs);
  const condition = dosedNotMovedCondition(
    metric,
    analyte.tests,
    analyte.doses,
    usual,
    settings.limit,
    settings.deadband,
  );
  const { label } = metricFacts[metric];
  const about = {
    system,
    metric,
    tail: '',
    value,
    say: () => ({
      raised: `${label} was dosed, and the test does not show it (${valueText(metric, value, plan.units)}). Test again, then check the container, the line and the strength of the solution before you dose more.`,
      cleared: `${label} follows its doses again.`,
    }),
  };
  feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
}

/** A new estimate of the demand. */
export function stepDemand(
  index: RoomIndex,
  state: RoomState,
  demand: DemandEvidence,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const analyte = analyteOf(index, state, demand.system, demand.analyte);
  const plan = planOf(index.rules, demand.system, demand.analyte);
  if (analyte === undefined || plan === undefined) return;
  const report = { timeMs: demand.timeMs ?? nowMs, perDay: demand.demandPerDay, sd: demand.sd };
  analyte.demand = withReport(analyte.demand, report);
  const { metric } = plan;
  const { label } = metricFacts[metric];
  const perDay = `${amountText(metric, report.perDay, plan.units)} a day`;
  const settings = plan.other.demandChanged;
  if (settings !== undefined) {
    const usual = usualDemand(analyte.demand, report.timeMs) ?? report.perDay;
    const way = report.perDay > usual ? 'more' : 'less';
    const about = {
      system: demand.system,
      metric,
      tail: '',
      say: () => ({
        raised: `The system uses ${way} ${label.toLowerCase()} than before: ${perDay}, it was ${amountText(metric, usual, plan.units)}. Test again, look at the corals, and adjust the dosing only when a second test agrees.`,
        cleared: `The demand for ${label.toLowerCase()} is near its usual again: ${perDay}.`,
      }),
    };
    const condition = demandCondition(analyte.demand, settings.limit, settings.deadband);
    feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
  }
  judgeStep(index, state, demand.system, nowMs, events);
}

function judgeStep(index: RoomIndex, state: RoomState, system: string, nowMs: number, events: AlarmEvent[]): void {
  const plan = planOf(index.rules, system, 'calcium');
  const settings = plan?.other.outOfStep;
  if (plan === undefined || settings === undefined) return;
  const alkalinity = index.analytes.get(`${system}/alkalinity`)?.demand.at(-1);
  const calcium = index.analytes.get(`${system}/calcium`)?.demand.at(-1);
  const condition = outOfStepCondition(alkalinity, calcium, settings.limit, settings.deadband);
  const about = {
    system,
    metric: 'calcium' as const,
    tail: '',
    say: () => {
      const expected = (alkalinity?.perDay ?? 0) * calciumPerAlkalinity_mgL_per_dKH;
      const found = amountText('calcium', calcium?.perDay ?? 0, plan.units);
      return {
        raised: `Calcium goes down by ${found} a day, but the alkalinity that goes with it calls for ${amountText('calcium', expected, plan.units)}. Repeat both tests with care before you change a dose.`,
        cleared: 'Calcium and alkalinity go down in step again.',
      };
    },
  };
  feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
}

/** Less than this ahead a forecast of days tells no time. @source common practice, no published source */
const soonHours = 0.5;

/** `above its band of 7.3 to 8.8 dKH in 3 h`; `by now` when the estimate is there already. */
function whereText(side: 'low' | 'high' | undefined, band: string, hours: number): string {
  const where = side === undefined ? 'out of' : side === 'high' ? 'above' : 'below';
  return `${where} its band of ${band} ${hours < soonHours ? 'by now' : `in ${durationText(hours * hourMs)}`}`;
}

/** Nothing that is yet to come is certain. */
function chanceText(probability: number): string {
  const inHundred = Math.round(probability * 100);
  return inHundred >= 100 ? 'more than 99 in 100' : `${inHundred} in 100`;
}

/** What the estimator expects; it takes the place of the stream's own drift. */
export function stepForecast(
  index: RoomIndex,
  state: RoomState,
  forecast: ForecastEvidence,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const analyte = analyteOf(index, state, forecast.system, forecast.metric);
  const plan = planOf(index.rules, forecast.system, forecast.metric);
  if (analyte === undefined || plan === undefined) return;
  const { hoursToLeave, probability } = forecast;
  analyte.forecastMs = nowMs;
  analyte.forecast = { hoursToLeave: hoursToLeave ?? null, probability, side: forecast.side ?? null };
  const settings = plan.other.drift;
  const { metric, band } = plan;
  if (settings === undefined || band === undefined) return;
  const hours = hoursToLeave ?? Number.POSITIVE_INFINITY;
  const byTime = conditionBelow(hours, settings.limit, settings.deadband);
  const condition: Condition =
    byTime === 'normal' || probability < unsure ? 'normal' : probability < sureEnough ? 'deadband' : byTime;
  const { label } = metricFacts[metric];
  const side = forecast.side;
  const about = {
    system: forecast.system,
    metric,
    tail: '/forecast',
    say: () => ({
      raised: `${label} is likely to be ${whereText(side, bandText(metric, band, plan.units), hours)} (${chanceText(probability)}). Test it, then see today's advice.`,
      cleared: `${label} is no longer expected to leave its band soon.`,
    }),
  };
  feedRoomAlarm(index, state, settings, about, condition, nowMs, events);
}
