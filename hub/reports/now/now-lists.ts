import { DateTime } from 'luxon';
import type { Store } from '#adapters/ports/store.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { shown, withUnit } from '#rules/dosing/advice-facts.ts';
import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import type { NowFacts } from '#rules/now/facts.ts';
import { type NowList, nowLines, nowList } from '#rules/now/now-list.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import { demandWatchDays } from '../../judgement/arrivals/demand-watch.ts';
import type { Livestock } from '../../judgement/arrivals/livestock.ts';
import type { DeclinedAdvice } from '../../judgement/estimate/declined-advice.ts';
import { planNow } from '../../judgement/estimate/standing-plan.ts';
import type { LotWatch } from '../../judgement/kits/lot-watch.ts';
import { heardProbes, outsideNow } from '../../judgement/watch/heard-now.ts';
import type { Watch } from '../../judgement/watch/watch.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { type Entry, readJournal } from '../../model/journal/journal.ts';
import { inSentence } from '../week/review/figure-words.ts';
import { arrivalFacts, batchFacts, illPieces, runFacts } from './arrival-facts.ts';
import { type AskedByAdvice, askedByAdvice } from './dose-facts.ts';
import { type TestAsked, testFacts } from './test-facts.ts';

/** Tests older than the longest rhythm that anybody sets say no more than that they are old. */
const testsLookedAtDays = 400;

export type NowListsParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'latest' | 'series'>;
  livestock: Livestock;
  declined: DeclinedAdvice;
  watch: Pick<Watch, 'standing' | 'silence'>;
  /** In which units the lines are put. */
  units(): KeepersUnits;
  lots: Pick<LotWatch, 'open'>;
  estimator: { advice(system: string): { analyte: AdviceAnalyte; advice: Advice }[] };
};

export type NowLists = {
  list(nowMs: number): NowList;
  /** The same for a phone, in a few lines. */
  phoneText(nowMs: number): string;
};

/** Gathers what `rules/now` judges, from all parts of the hub. */
export function createNowLists(parts: NowListsParts): NowLists {
  const { config, store, livestock } = parts;
  const { timezone } = config.site;

  function adviceOf(
    system: SystemConfig,
    plans: readonly Entry<'plan'>[],
    givenToday: readonly Entry<'dose'>[],
    nowMs: number,
  ) {
    const plan = new Map(planNow(system, plans, nowMs).map(({ stock, mlPerDay }) => [stock, mlPerDay]));
    return parts.estimator
      .advice(system.id)
      .filter(({ analyte, advice }) => parts.declined.of(system.id, analyte, advice) === undefined)
      .map(({ analyte, advice }) => ({
        analyte,
        asked: askedByAdvice(system.id, advice, plan, givenToday, parts.units()),
      }));
  }

  /** Alkalinity is tested each day of the first two weeks after an arrival: corals that settle use more. */
  function testsOfArrivals(system: string, dayStartMs: number, nowMs: number): TestAsked[] {
    const units = parts.units();
    return livestock.arrivals.all().flatMap((arrival): TestAsked[] => {
      const { arrivedMs, name } = arrival;
      if (arrival.system !== system || arrival.state !== 'arrived' || arrivedMs === undefined) return [];
      const day = Math.floor((nowMs - arrivedMs) / dayMs) + 1;
      if (day > demandWatchDays) return [];
      const added = livestock.care.demand(arrival, nowMs)?.added;
      const soFar =
        added === undefined
          ? ''
          : `, added ${shown('alkalinity', added.perDay, units)} ± ${withUnit('alkalinity', added.sd, units)} a day so far`;
      const because = `day ${day} of ${demandWatchDays} of ${name}${soFar}`;
      return [{ analyte: 'alkalinity', dueMs: dayStartMs + dayMs / 2, because }];
    });
  }

  function facts(nowMs: number): NowFacts {
    const day = DateTime.fromMillis(nowMs, { zone: timezone });
    const [dayStartMs, dayEndsMs] = [day.startOf('day').toMillis(), day.endOf('day').toMillis()];
    const tests = bySystem(
      readJournal(store, { kind: 'test', fromMs: nowMs - testsLookedAtDays * dayMs, toMs: nowMs + 1 }),
    );
    const plans = bySystem(readJournal(store, { kind: 'plan' }));
    const doses = bySystem(readJournal(store, { kind: 'dose', fromMs: dayStartMs, toMs: nowMs + 1 }));
    const probed = new Set(store.series().map(({ system, metric }) => `${system} ${metric}`));
    const advice = config.systems.flatMap((system) =>
      adviceOf(system, plans.get(system.id) ?? [], doses.get(system.id) ?? [], nowMs).map((each) => ({
        ...each,
        system: system.id,
      })),
    );
    const arrivals = arrivalFacts(livestock, timezone, nowMs);
    const heard = heardProbes(parts, nowMs);
    return {
      nowMs,
      dayStartMs,
      dayEndsMs,
      tanks: config.systems.map(({ id, name }) => ({ id, name })),
      alarms: parts.watch.standing(nowMs),
      arrivals,
      runs: runFacts(livestock, timezone, nowMs),
      pieces: illPieces(livestock),
      tests: config.systems.flatMap((system) =>
        testFacts(
          system,
          tests.get(system.id) ?? [],
          (analyte) => probed.has(`${system.id} ${analyte}`),
          [
            ...advice
              .filter((each) => each.system === system.id)
              .map(({ analyte, asked }) => ({ analyte, dueMs: asked.retestAtMs })),
            ...testsOfArrivals(system.id, dayStartMs, nowMs),
          ],
          dayStartMs,
        ),
      ),
      doses: advice.flatMap(({ asked }) => asked.doses),
      holdBacks: advice.flatMap(({ system, analyte, asked }) => holdBackOf(system, analyte, asked)),
      lots: parts.lots.open(nowMs),
      batches: batchFacts(livestock, arrivals, nowMs),
      probes: heard.length,
      unheardProbes: heard.filter(({ timeMs, isSilent }) => timeMs === undefined || isSilent).length,
      outside: outsideNow(parts, nowMs).map(({ system, metric }) => ({
        system,
        label: inSentence(metricFacts[metric].label),
      })),
    };
  }

  return {
    list: (nowMs) => nowList(facts(nowMs)),
    phoneText(nowMs) {
      const found = facts(nowMs);
      return nowLines(nowList(found), found.tanks, nowMs, 'Today').join('\n');
    },
  };
}

function holdBackOf(system: string, analyte: string, { holdBack, retestAtMs }: AskedByAdvice): NowFacts['holdBacks'] {
  if (holdBack === undefined) return [];
  const label = isMetric(analyte) ? inSentence(metricFacts[analyte].label) : analyte;
  return [{ system, analyte, label, why: holdBack, dueMs: retestAtMs }];
}

function bySystem<Of extends { system: string }>(entries: readonly Of[]): Map<string, Of[]> {
  const found = new Map<string, Of[]>();
  for (const entry of entries) {
    const own = found.get(entry.system);
    if (own === undefined) found.set(entry.system, [entry]);
    else own.push(entry);
  }
  return found;
}
