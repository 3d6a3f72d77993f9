import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { salinityFromDose } from '#rules/dosing/salinity-from-dose.ts';
import { substances } from '#rules/dosing/substances.ts';
import { usualDensity_kg_L } from '#rules/dosing/water-facts.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import { type GrowthBelief, growthBeliefs, type WhenReached, whenUseReaches } from '#rules/trend/demand-growth.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { mostMlPerDayPer100L, stockStrength } from '../../model/config/stock-strength.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { risesPerMl } from './dose-rise.ts';
import { readEntries } from './known-entries.ts';
import { demandEvidenceOf } from './known-facts.ts';
import { planNow } from './standing-plan.ts';
import { unhurried } from './unhurried.ts';

/** Growth shows over months: tests of five, and water changes of three. Chosen here. */
const historyDays = 150;
export const changesLookedAtDays = 90;
/** A stock of which no dose was logged for so long is not in use. Chosen here. */
const loggedLookedAtDays = 14;
/** A container that lasts less is a chore that gets forgotten. common practice, no published source */
const leastContainerDays = 7;
/** Further ahead than a year nothing that is grown or dosed goes on as it does. Chosen here. */
const lookedAheadDays = 365;

export type Outgrown = WhenReached & {
  analyte: DemandAnalyte;
  what: 'dosing' | 'lime_water' | 'container' | 'salinity';
  /** The use at which it is outgrown, unit a day. */
  limitPerDay: number;
  text: string;
};

export type Growth = { analyte: DemandAnalyte; percentPerMonth: number; low95: number; high95: number };

export type MonthsAhead = { growth: Growth[]; outgrown: Outgrown[]; text: string };

type Limit = Pick<Outgrown, 'analyte' | 'what' | 'limitPerDay'> & { name: string };

type Known = { analyte: DemandAnalyte; beliefs: GrowthBelief[] };

/**
 * When the use of a system outgrows its pumps, its lime water, its containers and its water changes, at the growth that the tests tell.
 * It takes the processor some tenths of a second for each analyte, so it rests between them and keeps its answer until there are new
 * entries, or the next day.
 */
export function createMonthsAhead(
  store: Pick<Store, 'journal'>,
): (system: SystemConfig, nowMs: number) => Promise<MonthsAhead> {
  const kept = new Map<string, { mark: string; answer: Promise<MonthsAhead> }>();
  return (system, nowMs) => {
    const entries = readEntries(store, system.id, nowMs - historyDays * dayMs);
    const mark = `${entries.length} ${entries.reduce((last, { id }) => Math.max(last, id), 0)} ${Math.floor(nowMs / dayMs)}`;
    const before = kept.get(system.id);
    if (before?.mark === mark) return before.answer;
    const answer = known(system, entries, nowMs).then((found) => answerOf(system, entries, found, nowMs));
    kept.set(system.id, { mark, answer });
    return answer;
  };
}

async function known(system: SystemConfig, entries: readonly Entry[], nowMs: number): Promise<Known[]> {
  const found: Known[] = [];
  for (const analyte of demandAnalytes) {
    const beliefs = await unhurried(() =>
      growthBeliefs(demandEvidenceOf(system, analyte, entries, nowMs), { analyte }),
    );
    if (beliefs.length > 0) found.push({ analyte, beliefs });
  }
  return found;
}

function answerOf(
  system: SystemConfig,
  entries: readonly Entry[],
  known: readonly Known[],
  nowMs: number,
): MonthsAhead {
  const outgrown = known.flatMap(({ analyte, beliefs }) =>
    limitsOf(system, analyte, entries, nowMs).map(({ name, ...limit }): Outgrown => {
      const when = whenUseReaches(beliefs, limit.limitPerDay, lookedAheadDays);
      return { ...limit, ...when, text: outgrownText(name, limit, when) };
    }),
  );
  outgrown.sort((one, other) => (one.likelyDays ?? Infinity) - (other.likelyDays ?? Infinity));
  return {
    growth: known.map(({ analyte, beliefs }) => growthOf(analyte, beliefs)),
    outgrown,
    text:
      known.length === 0
        ? 'Not enough tests yet to see growth: it takes eight of an analyte, over some weeks.'
        : outgrown.length === 0
          ? 'Nothing to outgrow: no stock states a daily limit, a container or an evaporation.'
          : outgrown[0]!.text,
  };
}

function limitsOf(system: SystemConfig, analyte: DemandAnalyte, entries: readonly Entry[], nowMs: number): Limit[] {
  const raising = system.stocks.filter((stock) => (risesPerMl(stock, system.volume_l)[analyte] ?? 0) > 0);
  const perDay = givenPerDay(system, entries, nowMs);
  const given = raising.filter(({ id }) => (perDay.get(id) ?? 0) > 0);
  if (given.length === 0) return [];
  const riseOf = (stock: (typeof given)[number], ml: number) => ml * (risesPerMl(stock, system.volume_l)[analyte] ?? 0);
  const mostMl = (stock: (typeof given)[number]): number | undefined => {
    const most = mostMlPerDayPer100L(stock, system.volume_l);
    return most === undefined ? undefined : (most * system.volume_l) / 100;
  };
  const limits: Limit[] = [];
  const most = given.map((stock) => ({ stock, ml: mostMl(stock) }));
  // What has no limit is not outgrown, and with it all together are not.
  if (most.every(({ ml }) => ml !== undefined)) {
    const isLime = given.every(({ top_off }) => top_off !== undefined);
    limits.push({
      analyte,
      what: isLime ? 'lime_water' : 'dosing',
      limitPerDay: most.reduce((sum, { stock, ml }) => sum + riseOf(stock, ml ?? 0), 0),
      name: isLime
        ? 'the lime water that evaporation allows'
        : `the most that ${given.map(({ name }) => name).join(' and ')} may give`,
    });
  }
  const [only, ...others] = given;
  if (only === undefined || others.length > 0) return limits;
  if (only.container_ml !== undefined)
    limits.push({
      analyte,
      what: 'container',
      limitPerDay: riseOf(only, only.container_ml / leastContainerDays),
      name: `what a container of ${only.name} gives for ${leastContainerDays} days`,
    });
  const perRise = saltPerRise(system, only, analyte);
  const share = changedSharePerDay(system, entries, nowMs);
  const band = system.bands.salinity;
  if (perRise !== undefined && perRise > 0 && share > 0 && band !== undefined)
    // At rest the salt of a day's doses is what the day's share of changed water takes away.
    limits.push({
      analyte,
      what: 'salinity',
      limitPerDay: (share * ((band.high - band.low) / 2)) / perRise,
      name: `the point up to which water changes take out the salt that ${only.name} leaves`,
    });
  return limits;
}

/** mL a day of each stock: by its plan, and by the doses of a pump that logs each of them. */
function givenPerDay(system: SystemConfig, entries: readonly Entry[], nowMs: number): Map<string, number> {
  const perDay = new Map(planNow(system, entries, nowMs).map(({ stock, mlPerDay }) => [stock, mlPerDay]));
  for (const { timeMs, body } of ofKind(entries, 'dose')) {
    if (body.stock === undefined || timeMs > nowMs || timeMs <= nowMs - loggedLookedAtDays * dayMs) continue;
    perDay.set(body.stock, (perDay.get(body.stock) ?? 0) + (body.ml ?? 0) / loggedLookedAtDays);
  }
  return perDay;
}

/** Salinity that stays for each unit of the analyte raised; undefined for a stock whose make-up is not known. */
function saltPerRise(
  system: SystemConfig,
  stock: SystemConfig['stocks'][number],
  analyte: DemandAnalyte,
): number | undefined {
  const strength = stockStrength(stock);
  if (strength.of === 'rises' || strength.gramsPerLitre === undefined) return undefined;
  const grams = strength.gramsPerLitre / 1000;
  const { lasting } = salinityFromDose(substances[strength.substance], grams, system.volume_l, usualDensity_kg_L);
  return lasting / (risesPerMl(stock, system.volume_l)[analyte] ?? Number.POSITIVE_INFINITY);
}

/** Share of the water that was changed in a day, mean of the last months. */
export function changedSharePerDay(system: SystemConfig, entries: readonly Entry[], nowMs: number): number {
  const litres = ofKind(entries, 'water_change')
    .filter(({ timeMs }) => timeMs > nowMs - changesLookedAtDays * dayMs && timeMs <= nowMs)
    .reduce((sum, { body }) => sum + body.volume_l, 0);
  return litres / changesLookedAtDays / system.volume_l;
}

function growthOf(analyte: DemandAnalyte, beliefs: readonly GrowthBelief[]): Growth {
  const sorted = beliefs.toSorted((a, b) => a.growthShare - b.growthShare);
  const at = (share: number): number => {
    let passed = 0;
    for (const { weight, growthShare } of sorted) {
      passed += weight;
      if (passed >= share) return growthShare;
    }
    return sorted.at(-1)?.growthShare ?? 0;
  };
  const mean = beliefs.reduce((sum, { weight, growthShare }) => sum + weight * growthShare, 0);
  const percent = (share: number): number => 100 * (Math.exp(30 * share) - 1);
  return { analyte, percentPerMonth: percent(mean), low95: percent(at(0.025)), high95: percent(at(0.975)) };
}

function weeks(days: number): string {
  return days < 10 ? `${Math.round(days)} days` : `${Math.round(days / 7)} weeks`;
}

function outgrownText(name: string, { analyte, limitPerDay }: Omit<Limit, 'name'>, when: WhenReached): string {
  const { label, unit, decimals } = metricFacts[analyte];
  const limit = `${name} (${limitPerDay.toFixed(Math.max(1, decimals))} ${unit} a day)`;
  if (when.likelyDays === undefined) {
    const chance = Math.round(100 * when.chanceWithin);
    return `${label} use stays below ${limit} for a year${chance >= 5 ? `, most likely: a ${chance} in 100 chance that it does not` : ''}.`;
  }
  if (when.likelyDays === 0) return `${label} use is already above ${limit}.`;
  const { low95Days: low = 0, high95Days: high } = when;
  const passes = `${label} use passes ${limit} in about ${weeks(when.likelyDays)} at this growth`;
  return high === undefined
    ? `${passes} (${weeks(low)} at the earliest, perhaps not within a year).`
    : `${passes} (${weeks(low)} to ${weeks(high)}).`;
}
