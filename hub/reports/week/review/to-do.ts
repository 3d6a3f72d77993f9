import { planOf, type RoomRules } from '#rules/bands/room-rules.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import { isContainerLow } from '#rules/verdicts/container-low.ts';
import { isOverdue } from '#rules/verdicts/overdue.ts';
import { arrivalsFromText } from '../../../judgement/arrivals/arrivals-state.ts';
import { loadPests, pestById } from '../../../judgement/arrivals/pest-file.ts';
import { nextTasks, pestWatch } from '../../../judgement/arrivals/pest-watch.ts';
import { containersOf } from '../../../judgement/estimate/containers.ts';
import type { BandReview, SwingReview, TestReview, ToDo } from '../../../model/answers/review-schema.ts';
import { spokenDate } from '../../../model/calendar/local-day.ts';
import type { Config, SystemConfig } from '../../../model/config/schema.ts';
import { type Entry, readJournal } from '../../../model/journal/journal.ts';
import { standingAtEnd, type ToldAlarm } from './alarms-of-week.ts';
import { numberOf } from './figure.ts';
import { amountWords, bandWords, inSentence, lengthWords, percentWords } from './figure-words.ts';
import { lastCalibrationMs } from './probes-of-week.ts';
import type { ReviewSpan, ReviewStore } from './review-span.ts';

/** Feeding, a lid, a hand in the water: an hour in a week outside is no task. common practice, no published source */
const leastMinutesOutside = 60;
/** Advice of all analytes of a system that is looked through for the last of each. */
const mostAdviceRead = 60;
/** A probe that was heard for less of the week has a fault to find. common practice, no published source */
const leastHeardShare = 0.9;
/** Heard within so many days before the week: it is no new probe. */
const knownBeforeDays = 30;
/** Rules whose cause has a line of its own in the list. */
const ownLines: ReadonlySet<string> = new Set([
  'out_of_band',
  'swing',
  'test_overdue',
  'calibration_overdue',
  'container_low',
]);

export type ToDoSources = {
  config: Config;
  rules: RoomRules;
  store: ReviewStore;
  bands: readonly BandReview[];
  swings: readonly SwingReview[];
  tests: readonly TestReview[];
  events: readonly ToldAlarm[];
  calibrations: readonly Entry<'calibration'>[];
  /** Of a system, as `readEntries` gives them. */
  entriesOf(system: string): readonly Entry[];
};

/**
 * What is to be done, each with the fact that asks for it, as it was known at the end of the week: what the keeper should
 * see first comes first. Empty when nothing is due.
 */
export function toDoOf(sources: ToDoSources, span: ReviewSpan): ToDo[] {
  return [
    ...bandsNotKept(sources),
    ...probesNotHeard(sources, span),
    ...alarmsStanding(sources, span),
    ...sources.config.systems.flatMap((system) => [
      ...adviceOpen(sources, system, span),
      ...testsOverdue(sources, system, span),
      ...calibrationsOverdue(sources, system, span),
      ...containersLow(sources, system, span),
      ...pestsDue(sources, system, span),
    ]),
  ];
}

const placeOf = ({ id, name }: SystemConfig) => ({ system: id, systemName: name });

function bandsNotKept({ bands, swings, tests }: ToDoSources): ToDo[] {
  const outside = bands.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals, band, probe } = review;
    const minutes = numberOf(review.minutesOutside);
    const share = numberOf(review.shareInBand);
    if (band === null || minutes === undefined || share === undefined || minutes < leastMinutesOutside) return [];
    const [min, max] = [numberOf(review.min), numberOf(review.max)];
    const reach =
      min === undefined || max === undefined
        ? ''
        : `; it ranged from ${min.toFixed(decimals)} to ${amountWords(max, unit, decimals)}`;
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Find out why ${inSentence(label)} left its band`,
        short: `find why ${inSentence(label)} left its band`,
        reason: `outside ${bandWords(band, unit)} for ${lengthWords(minutes * 60_000)} by ${probe} (${percentWords(share)} of the time inside)${reach}`,
      },
    ];
  });
  const swung = swings.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals } = review;
    const [swing, most] = [numberOf(review.largestOfDay), numberOf(review.mostPerDay)];
    if (swing === undefined || most === undefined || swing <= most) return [];
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Find out why ${inSentence(label)} swung so far`,
        short: `find why ${inSentence(label)} swung`,
        reason: `${amountWords(swing, unit, decimals)} on ${review.onDate ?? 'one day'}, the limit is ${most} a day`,
      },
    ];
  });
  const tested = tests.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals, band } = review;
    const last = review.tests.at(-1);
    if (band === null || last === undefined || last.verdict === 'refuted') return [];
    if (last.value >= band.low && last.value <= band.high) return [];
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Bring ${inSentence(label)} back into its band`,
        short: `bring ${inSentence(label)} back`,
        reason: `the last test gave ${amountWords(last.value, unit, decimals)}, the band is ${bandWords(band, unit)}`,
      },
    ];
  });
  return [...outside, ...swung, ...tested];
}

/** Bands say nothing of a time in which nobody watched. */
function probesNotHeard({ config, store, bands }: ToDoSources, span: ReviewSpan): ToDo[] {
  return bands.flatMap(({ system, systemName, metric, label, probe, shareHeard }): ToDo[] => {
    const heard = numberOf(shareHeard);
    // What is derived from a reading is silent with it.
    const isOwn = config.probes.some((each) => each.id === probe && each.metric === metric);
    if (!isOwn || heard === undefined || heard >= leastHeardShare) return [];
    const before = store.summaries(
      { system, metric, probe },
      'day',
      span.fromMs - knownBeforeDays * dayMs,
      span.fromMs,
    );
    if (before.length === 0) return [];
    return [
      {
        kind: 'probe',
        system,
        systemName,
        what: `Find out why the ${inSentence(label)} probe ${probe} was silent`,
        short: `find why the ${inSentence(label)} probe was silent`,
        reason: `signal for ${percentWords(heard, 0)} of the week`,
      },
    ];
  });
}

function alarmsStanding({ config, events }: ToDoSources, span: ReviewSpan): ToDo[] {
  return standingAtEnd(events, span)
    .filter(({ event }) => !ownLines.has(event.rule))
    .map(({ event, sinceMs }) => {
      const { system, metric } = event;
      const label = isMetric(metric) ? metricFacts[metric].label : 'the room';
      return {
        kind: 'alarm',
        system,
        systemName: config.systems.find(({ id }) => id === system)?.name ?? config.site.name,
        what: `Look into the alarm about ${inSentence(label)}: ${event.rule.replaceAll('_', ' ')}`,
        short: `look into ${event.rule.replaceAll('_', ' ')}`,
        reason: `active for ${lengthWords(span.asOfMs - sinceMs)}: ${event.message}`,
      };
    });
}

/** The last word on each analyte, when it asks for a dose or says why none can be advised. */
function adviceOpen({ store }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const last = new Map<string, Advice>();
  const query = {
    kind: 'advice',
    system: system.id,
    toMs: span.asOfMs,
    order: 'newest',
    limit: mostAdviceRead,
  } as const;
  for (const { body } of readJournal(store, query)) {
    if (!last.has(body.analyte)) last.set(body.analyte, body.advice);
  }
  return [...last].flatMap(([analyte, advice]): ToDo[] => {
    if (advice.kind !== 'dose' && advice.kind !== 'hold_back') return [];
    const label = isMetric(analyte) ? inSentence(metricFacts[analyte].label) : analyte;
    const isDose = advice.kind === 'dose';
    return [
      {
        kind: 'advice',
        ...placeOf(system),
        what: isDose ? `Decide on the advice about ${label}` : `Clear up ${label}: no dose can be advised`,
        short: isDose ? `advice on ${label}` : `clear up ${label}`,
        reason: advice.reason,
      },
    ];
  });
}

function testsOverdue({ rules, tests }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  return tests.flatMap(({ system: id, metric, label, lastMs }): ToDo[] => {
    const every = planOf(rules, id, metric)?.other.testOverdue?.limit;
    if (id !== system.id || every === undefined) return [];
    // Nobody who never tests an analyte is told to, unless the configuration says that it shall be tested.
    const isAsked = system.test_every_days[metric] !== undefined;
    if (!(isOverdue(lastMs ?? undefined, every, span.asOfMs) ?? isAsked)) return [];
    const how = lastMs === null ? 'never tested' : `last tested ${daysWords((span.asOfMs - lastMs) / dayMs)} ago`;
    return [
      {
        kind: 'test',
        ...placeOf(system),
        what: `Test ${inSentence(label)}`,
        short: `test ${inSentence(label)}`,
        reason: `${how}; a test is due every ${daysWords(every)}`,
      },
    ];
  });
}

function calibrationsOverdue(
  { config, rules, calibrations }: ToDoSources,
  system: SystemConfig,
  span: ReviewSpan,
): ToDo[] {
  return config.probes.flatMap((probe): ToDo[] => {
    const every = planOf(rules, system.id, probe.metric)?.other.calibrationOverdue?.limit;
    const lastMs = lastCalibrationMs(calibrations, probe, span.asOfMs);
    if (probe.system !== system.id || every === undefined || lastMs === undefined) return [];
    if (isOverdue(lastMs, every, span.asOfMs) !== true) return [];
    const label = inSentence(metricFacts[probe.metric].label);
    return [
      {
        kind: 'calibration',
        ...placeOf(system),
        what: `Calibrate the ${label} probe ${probe.name ?? probe.id}`,
        short: `calibrate the ${label} probe`,
        reason: `last calibrated ${daysWords((span.asOfMs - lastMs) / dayMs)} ago; every ${daysWords(every)} is usual`,
      },
    ];
  });
}

function containersLow({ entriesOf, rules }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const low = rules.ofSystems.get(system.id)?.containerLow;
  return containersOf(system, entriesOf(system.id), span.asOfMs).flatMap(({ stock, leftMl, daysLeft }): ToDo[] => {
    if (daysLeft === null || low === undefined || !isContainerLow(daysLeft, low.limit)) return [];
    const name = system.stocks.find(({ id }) => id === stock)?.name ?? stock;
    return [
      {
        kind: 'container',
        ...placeOf(system),
        what: `Fill the container of ${name}`,
        short: `fill ${name}`,
        reason: `${Math.round(leftMl)} mL left: ${daysWords(daysLeft)} at last week’s rate`,
      },
    ];
  });
}

/** Inspections and repeat dips that are due by the end of the week that begins. */
function pestsDue({ config, store }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const kept = store.document('arrivals-state');
  const arrivals = (kept === undefined ? undefined : arrivalsFromText(kept))?.arrivals ?? [];
  const { timezone } = config.site;
  const pests = loadPests(config.pests_file);
  const dateOf = (timeMs: number) => spokenDate(timeMs, timezone);
  return arrivals.flatMap((arrival): ToDo[] => {
    const { arrivedMs } = arrival;
    if (arrival.system !== system.id || arrival.state !== 'arrived' || arrivedMs === undefined) return [];
    if (arrivedMs >= span.asOfMs) return [];
    // As it was known then: what was done later was still open.
    const then = {
      ...arrival,
      dipsMs: arrival.dipsMs.filter((timeMs) => timeMs < span.asOfMs),
      inspections: arrival.inspections.filter(({ timeMs }) => timeMs < span.asOfMs),
    };
    const watch = pestWatch(store, system, then, pestById(pests, arrival.pest), span.asOfMs, timezone);
    const { dip, inspection } = nextTasks(watch?.plan?.tasks ?? [], span.asOfMs);
    const untilMs = span.asOfMs + 7 * dayMs;
    const todo = (what: string, short: string, reason: string): ToDo => ({
      kind: 'pest',
      ...placeOf(system),
      what,
      short,
      reason,
    });
    return [
      ...(dip === undefined || dip.dueMs >= untilMs
        ? []
        : [
            todo(
              `Dip ${arrival.name} again`,
              `dip ${arrival.name}`,
              `against ${watch?.pest ?? 'pests'}, best on ${dateOf(dip.dueMs)}; by the label of what you dip in`,
            ),
          ]),
      ...(inspection === undefined || inspection.dueMs >= untilMs
        ? []
        : [
            todo(
              `Inspect ${arrival.name} for pests`,
              `inspect ${arrival.name}`,
              `due ${inspection.dueMs < span.asOfMs ? 'since' : 'on'} ${dateOf(inspection.dueMs)}; look for ${watch?.lookFor ?? 'pests'}`,
            ),
          ]),
    ];
  });
}

function daysWords(days: number): string {
  const rounded = days < 10 ? Number(days.toFixed(1)) : Math.round(days);
  return rounded === 1 ? '1 day' : `${rounded} days`;
}
