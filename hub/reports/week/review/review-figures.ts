import type { JournalKind } from '#adapters/ports/store.ts';
import { rulesForRoom } from '#rules/bands/room.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import { readEntries } from '../../../judgement/estimate/known-entries.ts';
import { pastSalinity } from '../../../judgement/estimate/past-salinity.ts';
import { createPieces } from '../../../judgement/pieces/pieces.ts';
import type { BandReview, ReviewFigures } from '../../../model/answers/review-schema.ts';
import type { IsoWeek } from '../../../model/calendar/iso-week.ts';
import type { Config } from '../../../model/config/schema.ts';
import { withPast } from '../../../model/config/system-at.ts';
import { watchedRoomFromConfig } from '../../../model/config/watched-room.ts';
import { readJournal, readKinds } from '../../../model/journal/journal.ts';
import { shownUnit } from '../../../model/settings/shown-unit.ts';
import { alarmEvents, alarmsOfWeek } from './alarms-of-week.ts';
import { configurationAt, configurationsSeen, heldBefore } from './configuration-seen.ts';
import { coralsOfWeek } from './corals-of-week.ts';
import { demandReview, followDemand } from './demand-of-week.ts';
import { dosesOfWeek } from './doses-of-week.ts';
import { changedInWeek, happenedInWeek } from './events-of-week.ts';
import { absent, type Figure, known, numberOf } from './figure.ts';
import { inKeepersUnits } from './in-keepers-units.ts';
import { probesOfWeek } from './probes-of-week.ts';
import { reviewLine } from './review-line.ts';
import { type ReviewStore, reviewSpan } from './review-span.ts';
import { type SeriesReview, seriesReview } from './series-review.ts';
import { testsOfWeek } from './tests-of-week.ts';
import { toDoOf } from './to-do.ts';

/** As far back as the estimator looks: older tests say nothing of today's corals. */
const testsCountDays = 120;
/** An alarm that stands was raised, or raised again, within a year. */
const alarmsCountDays = 366;

export type ReviewSource = {
  config: Config;
  store: ReviewStore;
  /** In which units the keeper reads: the words of the week speak them, its figures the store's. */
  units: KeepersUnits;
  /** The demo marks its room as invented. */
  isInvented: boolean;
};

/**
 * All figures of a week, from the store alone: the same store gives the same figures at any later time, but for what is
 * entered or taken back meanwhile.
 *
 * @param week   of the calendar
 * @param nowMs  a week that runs is told up to here
 */
export function reviewFigures(
  { config: configNow, store, units, isInvented }: ReviewSource,
  week: IsoWeek,
  nowMs: number,
): ReviewFigures {
  const span = reviewSpan(configNow, week, nowMs);
  const seen = configurationsSeen(store);
  const config = withPast(configNow, heldBefore(seen), nowMs);
  const inForce = configurationAt(seen, config, span.asOfMs);
  const bandsOf = (system: string) => inForce.systems.find(({ id }) => id === system)?.bands ?? {};

  const series = store.series().flatMap((each): SeriesReview[] => {
    const found = seriesReview(config, store, each, bandsOf(each.system)[each.metric], span);
    return found === undefined ? [] : [found];
  });
  const events = alarmEvents(
    readJournal(store, { kind: 'alarm', fromMs: span.asOfMs - alarmsCountDays * dayMs, toMs: span.asOfMs }),
  );
  const calibrations = readJournal(store, { kind: 'calibration', fromMs: 0, toMs: span.asOfMs });
  const fromMs = span.fromMs - testsCountDays * dayMs;
  const ofSystems = config.systems.map((system) => {
    const entries = readEntries(store, system.id, fromMs).filter(({ timeMs }) => timeMs < span.asOfMs);
    const followed = demandAnalytes.map((analyte) => followDemand(system, analyte, entries, span));
    const bands = bandsOf(system.id);
    const allTests = readJournal(store, { kind: 'test', system: system.id, fromMs: 0, toMs: span.asOfMs });
    const tests = testsOfWeek(
      system,
      allTests,
      followed,
      bands,
      (analyte) => series.some((each) => each.series.system === system.id && each.series.metric === analyte),
      span,
      pastSalinity(store, system.id, allTests, span.fromMs, span.asOfMs),
    );
    const demand = followed.flatMap((each) => {
      const found = demandReview(system, each, entries, bands[each.analyte] !== undefined, span);
      return found === undefined ? [] : [found];
    });
    return { id: system.id, entries, tests, demand, doses: dosesOfWeek(system, entries, span) };
  });
  const entriesInWeek = <Kind extends JournalKind>(...kinds: Kind[]) =>
    readKinds(store, kinds, { fromMs: span.fromMs, toMs: span.asOfMs });
  const inWeek = entriesInWeek('test', 'dose', 'water_change');
  const corals = coralsOfWeek(config, entriesInWeek('arrival'), createPieces(config, store).all({}), span);
  const isWatched = series.length > 0 || inWeek.length > 0 || events.some(({ timeMs }) => timeMs >= span.fromMs);
  const tests = ofSystems.flatMap((each) => each.tests);
  const bands = inOrder(config, series).map((each) => each.bands);
  const swings = inOrder(config, series).map((each) => each.swings);
  const demand = ofSystems.flatMap((each) => each.demand);
  const told = inKeepersUnits({ bands, swings, demand, tests }, (metric) => shownUnit(metric, units));
  const facts = {
    week,
    bandsKept: bandsKept(bands),
    alarms: alarmsOfWeek(config, events, isWatched, span),
    toDo: toDoOf(
      {
        config,
        store,
        events,
        calibrations,
        rules: rulesForRoom(watchedRoomFromConfig(config)),
        bands: told.bands,
        swings: told.swings,
        tests: told.tests,
        entriesOf: (system) => ofSystems.find(({ id }) => id === system)?.entries ?? [],
      },
      span,
    ),
  };
  return {
    ...facts,
    site: config.site.name,
    timezone: span.zone,
    isInvented,
    fromMs: span.fromMs,
    toMs: span.toMs,
    asOfMs: span.asOfMs,
    isOver: span.isOver,
    hours: (span.toMs - span.fromMs) / hourMs,
    line: reviewLine({ ...facts, bands, demand: told.demand }),
    bands,
    swings,
    demand,
    tests,
    corals,
    doses: ofSystems.flatMap((each) => each.doses),
    probes: probesOfWeek({ config, store, series, calibrations, events }, span),
    happened: happenedInWeek(config, events, inWeek, corals, span),
    changed: changedInWeek(config, entriesInWeek('plan', 'refill', 'calibration', 'note'), seen, span, units),
  };
}

/** In the order of the configuration: a person looks for the first tank at the top. */
function inOrder(config: Config, series: readonly SeriesReview[]): SeriesReview[] {
  const order = new Map(config.systems.map(({ id }, index) => [id, index]));
  const rank = ({ series: { system } }: SeriesReview) => order.get(system) ?? Number.MAX_SAFE_INTEGER;
  return [...series].sort((one, other) => rank(one) - rank(other));
}

function bandsKept(bands: readonly BandReview[]): Figure {
  const judged = bands.filter(({ shareInBand }) => numberOf(shareInBand) !== undefined);
  const heard = judged.reduce((sum, { minutesHeard }) => sum + minutesHeard, 0);
  if (heard === 0) return absent(bands.length === 0 ? 'no reading this week' : 'no band is set for what was measured');
  const outside = judged.reduce((sum, { minutesOutside }) => sum + (numberOf(minutesOutside) ?? 0), 0);
  return known((heard - outside) / heard);
}
