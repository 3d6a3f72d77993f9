import type { Store, Summary } from '#adapters/ports/store.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { SalinityAdviceInput, SalinityProbe } from '#rules/dosing/advice-salinity-level.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { salinityFromDose } from '#rules/dosing/salinity-from-dose.ts';
import { substanceNamed } from '#rules/dosing/substances.ts';
import { usualDensity_kg_L } from '#rules/dosing/water-facts.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { robustTrend } from '#rules/trend/robust-trend.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { planNow } from './standing-plan.ts';

/** The level is that of so many hours, the trend that of a day: it must see past a water change's eddy and a hot noon. */
const levelHours = 6;
const fewestPoints = 5;
/** A trend over less than this is the day's own swing. */
const fewestTrendHours = 12;

type SalinityStore = Pick<Store, 'series' | 'latest' | 'summaries'>;

const isSound = ({ worst }: Summary): boolean => worst === 'pass' || worst === 'not_evaluated';
const asPoint = ({ startMs, mean }: Summary) => ({ timeMs: startMs, value: mean });

function seriesOf(store: SalinityStore, system: SystemConfig, metric: Metric): Series[] {
  return store.series().filter((series) => series.system === system.id && series.metric === metric);
}

/** The first probe of the system that has said enough in the last hours. */
function probeOf(
  store: SalinityStore,
  system: SystemConfig,
  entries: readonly Entry[],
  testMs: number | undefined,
  nowMs: number,
): SalinityProbe | undefined {
  // What stood in the tank before a water change does not speak for the water of now.
  const changedMs = Math.max(
    ...entries.filter(({ kind, timeMs }) => kind === 'water_change' && timeMs <= nowMs).map(({ timeMs }) => timeMs),
    nowMs - dayMs,
  );
  for (const series of seriesOf(store, system, 'salinity')) {
    const latest = store.latest(series);
    const fromMs = Math.max(nowMs - levelHours * hourMs, changedMs);
    const minutes = store.summaries(series, 'minute', fromMs, nowMs + 1);
    const sound = minutes.filter(isSound);
    if (latest === undefined || sound.length < fewestPoints) continue;
    const { valueAtEnd } = robustTrend(sound.map(asPoint));
    const hours = store.summaries(series, 'hour', changedMs, nowMs + 1).filter(isSound);
    const temperature = temperatureAgeMs(store, system, series, nowMs);
    const atLastTest = testMs === undefined ? undefined : levelAround(store, series, testMs);
    return {
      level: valueAtEnd,
      scatterSd: scatterOf(sound),
      ageMs: nowMs - latest.timeMs,
      ...(latest.flag === 'pass' || latest.flag === 'not_evaluated' ? { newest: latest.value } : {}),
      isSuspect: latest.flag === 'suspect' || latest.flag === 'fail' || sound.length < minutes.length / 2,
      ...(hours.length < fewestTrendHours ? {} : { perDay: perDayOf(hours) }),
      ...defined({ atLastTest, temperatureAgeMs: temperature }),
    };
  }
  return undefined;
}

function perDayOf(hours: readonly Summary[]): NonNullable<SalinityProbe['perDay']> {
  const { slopePerHour, low95PerHour, high95PerHour } = robustTrend(hours.map(asPoint));
  return { low95: 24 * low95PerHour, middle: 24 * slopePerHour, high95: 24 * high95PerHour };
}

/** Standard deviation of the middle of the minutes: neighbours err alike, so that of the minutes themselves is taken. */
function scatterOf(minutes: readonly Summary[]): number {
  const values = minutes.map(({ mean }) => mean).sort((a, b) => a - b);
  const at = (share: number): number => values[Math.round(share * (values.length - 1))]!;
  return (at(0.84) - at(0.16)) / 2;
}

function levelAround(store: SalinityStore, series: Series, timeMs: number): number | undefined {
  const hours = store.summaries(series, 'hour', timeMs - 1.5 * hourMs, timeMs + 1.5 * hourMs).filter(isSound);
  return hours.length === 0 ? undefined : hours.reduce((sum, { mean }) => sum + mean, 0) / hours.length;
}

/** Only a salinity that comes from a conductivity rests on a temperature. */
function temperatureAgeMs(
  store: SalinityStore,
  system: SystemConfig,
  salinity: Series,
  nowMs: number,
): number | undefined {
  const isDerived = seriesOf(store, system, 'conductivity').some(({ probe }) => probe === salinity.probe);
  if (!isDerived) return undefined;
  const ages = seriesOf(store, system, 'temperature').flatMap((series) => {
    const latest = store.latest(series);
    return latest === undefined || latest.flag === 'fail' ? [] : [nowMs - latest.timeMs];
  });
  return ages.length === 0 ? undefined : Math.min(...ages);
}

/** Salinity that the doses leave behind in a day: by the standing plan, or where there is none by those of the last week. */
function driftPerDay(system: SystemConfig, entries: readonly Entry[], nowMs: number): number {
  const lasting = (name: string, grams: number): number => {
    const substance = substanceNamed(name);
    return substance === undefined ? 0 : salinityFromDose(substance, grams, system.volume_l, usualDensity_kg_L).lasting;
  };
  const ofStock = (id: string, ml: number): number => {
    const stock = system.stocks.find((each) => each.id === id);
    return stock?.grams_per_litre === undefined ? 0 : lasting(stock.substance, (stock.grams_per_litre * ml) / 1000);
  };
  const planned = planNow(system, entries, nowMs);
  if (planned.length > 0) return planned.reduce((sum, { stock, mlPerDay }) => sum + ofStock(stock, mlPerDay), 0);
  const week = ofKind(entries, 'dose').filter(({ timeMs }) => timeMs > nowMs - 7 * dayMs && timeMs <= nowMs);
  const inWeek = week.reduce((sum, { body: { stock, ml, substance, grams } }) => {
    if (stock !== undefined && ml !== undefined) return sum + ofStock(stock, ml);
    return substance !== undefined && grams !== undefined ? sum + lasting(substance, grams) : sum;
  }, 0);
  return inWeek / 7;
}

/** True or false by a level sensor with a band; undefined without one. */
function isWaterLow(store: SalinityStore, system: SystemConfig, nowMs: number): boolean | undefined {
  const low = system.bands.level?.low;
  if (low === undefined) return undefined;
  for (const series of seriesOf(store, system, 'level')) {
    const latest = store.latest(series);
    if (latest === undefined || latest.flag !== 'pass' || nowMs - latest.timeMs > hourMs) continue;
    return latest.value < low;
  }
  return undefined;
}

/**
 * Everything that advice on salinity rests on; undefined without a band.
 *
 * @param entries  of the system, oldest first within each kind
 * @param before  the advice that stood until now
 */
export function salinityInputOf(
  store: SalinityStore,
  system: SystemConfig,
  entries: readonly Entry[],
  before: Advice | undefined,
  nowMs: number,
): SalinityAdviceInput | undefined {
  const band = system.bands.salinity;
  if (band === undefined) return undefined;
  const test = ofKind(entries, 'test').findLast(({ body, timeMs }) => body.analyte === 'salinity' && timeMs <= nowMs);
  const probe = probeOf(store, system, entries, test?.timeMs, nowMs);
  const isLow = isWaterLow(store, system, nowMs);
  const advised = before?.water?.changeOnDay[0];
  return {
    system: {
      volumeL: system.volume_l,
      band: {
        low: band.low,
        high: band.high,
        ...defined({ mostPerDay: band.most_per_day }),
      },
    },
    ...defined({ probe }),
    ...(test === undefined
      ? {}
      : {
          lastTest: {
            timeMs: test.timeMs,
            value: test.body.value,
            ...defined({ sd: test.body.sd }),
          },
        }),
    driftPerDay: driftPerDay(system, entries, nowMs),
    ...defined({ advisedPerDay: advised, isWaterLow: isLow }),
    nowMs,
  };
}
