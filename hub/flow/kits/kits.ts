import type { Store } from '#adapters/ports/store.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Analyte, metricFacts, testRange } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import { type KitFound, type KitPair, kitFromPairs } from '#rules/titration/kit-comparison.ts';
import { demandFacts, isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { KitApply, KitCompare, KitOpen } from '../../model/entries/kit-entry.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, entryWithKey, readJournal, written } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { orNotStored, orRefused, Refused } from '../../model/refusals/refused.ts';

/** One lot of a kit. Values in the store unit of its analyte. */
export type Kit = {
  id: string;
  name: string;
  analyte: Analyte;
  lot: string | undefined;
  resolution: number | undefined;
  openedMs: number;
  pairs: KitPair[];
  /** Tests by it are corrected from this time on; undefined before it was held against anything. */
  correctsFromMs: number | undefined;
  found: KitFound | undefined;
};

/** What is known of a kit when a test by it is entered. */
export type KitOfTest = { id: string; name: string; bias: number; biasSd: number; sd: number | undefined };

/** In the place of a kit: the test is by none, such as one by a laboratory. */
export const noKit = 'none';

export type Kits = {
  all(): Kit[];
  /** @throws Refused unknown_kit */
  find(id: string): Kit;
  /** A new kit, or a new lot of one that has its name. */
  open(entry: KitOpen, nowMs: number): Kit;
  compare(id: string, entry: KitCompare, nowMs: number): Kit;
  /** Corrects the stored tests by it from a date on. @returns how many have another value now, and of which systems */
  apply(id: string, entry: KitApply, nowMs: number): { tests: number; systems: string[] };
  /**
   * The kit of a test: that named, else the only one of its analyte that is in use.
   *
   * @throws Refused unknown_kit, not_for_this_metric
   */
  ofTest(named: string | undefined, analyte: Analyte, timeMs: number): KitOfTest | undefined;
};

/**
 * The kits of the room as instruments: what they were held against, and what that makes of a test.
 *
 * Is: a test keeps what was typed beside what it counts as, so that a correction can be made again or taken back.
 * Is not: applied to tests that are stored already, until somebody asks for it.
 */
export function createKits(store: Pick<Store, 'commit' | 'journal'>): Kits {
  const all = () => kitsOf(readJournal(store, { kind: 'kit' }));

  function find(id: string): Kit {
    const kits = all();
    const kit = kits.find((each) => each.id === id);
    if (kit !== undefined) return kit;
    const known = kits.map((each) => each.id).join(', ') || 'none';
    throw new Refused('unknown_kit', `No kit "${id}". You have: ${known}`);
  }

  function keep(body: BodyOf<'kit'>, timeMs: number, nowMs: number, key: string | undefined): Kit {
    const entry = { kind: 'kit' as const, timeMs, recordedMs: nowMs, system: '', body };
    return find(append(store, key === undefined ? entry : { ...entry, key: `kit:${key}` }).entry.body.kit);
  }

  /** The lot in use at a time: of the only name that there is for the analyte. */
  function inUse(analyte: Analyte, timeMs: number): Kit | undefined {
    const opened = all().filter((kit) => kit.analyte === analyte && kit.openedMs <= timeMs);
    return new Set(opened.map(({ name }) => name)).size === 1 ? opened.at(-1) : undefined;
  }

  return {
    all,
    find,
    open(entry, nowMs) {
      const { time, key, ...rest } = entry;
      const count = readJournal(store, { kind: 'kit', history: true }).filter(({ body }) => body.event === 'opened');
      const body = { event: 'opened' as const, kit: `k${count.length + 1}`, ...rest };
      return keep(body, happenedMs(time, nowMs), nowMs, key);
    },
    compare(id, entry, nowMs) {
      const kit = find(id);
      const { time, key, by, unit, found, titration } = entry;
      if (key !== undefined && entryWithKey(store, `kit:${key}`) !== undefined) return kit;
      const inStore = (value: number) => storeValue(kit.analyte, value, unit);
      const width = (sd: number) => inStore(sd) - inStore(0);
      const testable = (what: string, typed: number) => withinTests(kit.analyte, what, inStore(typed), typed, unit);
      const reference =
        titration === undefined
          ? { reference: testable('reference', entry.reference ?? 0), reference_sd: width(entry.reference_sd ?? 0) }
          : titrated(kit, titration);
      const body = {
        event: 'compared' as const,
        kit: id,
        found: found.map((each) => testable('found', each)),
        ...reference,
        ...defined({ titration, by }),
      };
      const told = [...kit.pairs, ...pairsOf(body)];
      if (foundOf({ ...kit, pairs: told }) === undefined) {
        const words = `${id} has no resolution and one test says nothing of its scatter: test the reference twice`;
        throw new Refused('no_answer', words);
      }
      return keep(body, happenedMs(time, nowMs), nowMs, key);
    },
    apply(id, { from, by }, nowMs) {
      const kit = find(id);
      // Where a comparison was taken back, so is what it made of the tests.
      const wasHeld = readJournal(store, { kind: 'kit', history: true }).some(
        ({ body }) => body.event === 'compared' && body.kit === id,
      );
      if (!wasHeld) throw new Refused('not_known', `${id} was not compared with a reference yet`);
      const fromMs = happenedMs(from, nowMs);
      keep({ event: 'applied', kit: id, fromMs, by }, nowMs, nowMs, undefined);
      const corrected = find(id);
      const changed = readJournal(store, { kind: 'test', fromMs }).flatMap((old) => {
        const isBy =
          old.body.kit?.id === id || (old.body.kit === undefined && inUse(kit.analyte, old.timeMs)?.id === id);
        if (old.body.analyte !== kit.analyte || old.body.titration !== undefined || !isBy) return [];
        const body = correctedBody(old.body, ofTest(corrected, old.timeMs));
        return body.value === old.body.value && body.sd === old.body.sd ? [] : [correctionOf(old, body, nowMs)];
      });
      if (changed.length > 0) orNotStored(() => store.commit({ entries: changed.map(written) }));
      return { tests: changed.length, systems: [...new Set(changed.map(({ system }) => system))] };
    },
    ofTest(named, analyte, timeMs) {
      if (named === noKit) return undefined;
      const kit = named === undefined ? inUse(analyte, timeMs) : find(named);
      if (kit === undefined) return undefined;
      if (kit.analyte !== analyte)
        throw new Refused('not_for_this_metric', `${kit.id} tests ${kit.analyte}, not ${analyte}`);
      return ofTest(kit, timeMs);
    },
  };

  function titrated(kit: Kit, id: number): { reference: number; reference_sd: number } {
    const test = readJournal(store, { id, kind: 'test' })[0]?.body;
    if (test?.titration === undefined || test.analyte !== kit.analyte) {
      throw new Refused('unknown_entry', `entry ${id} is no titration of ${kit.analyte} by the hub`);
    }
    return { reference: test.value, reference_sd: test.sd ?? 0 };
  }
}

/**
 * The body of a test by a kit: what it counts as, beside what was typed. Below nothing there is nothing.
 *
 * @param body  as it stands, corrected already or not
 */
export function correctedBody(body: BodyOf<'test'>, kit: KitOfTest): BodyOf<'test'> {
  const isGravity = body.given_unit === 'sg';
  const raw = isGravity
    ? body.value + (body.kit?.bias ?? 0)
    : storeValue(body.analyte, body.given_value, body.given_unit);
  const statedSd = body.kit === undefined ? body.sd : body.kit.stated_sd;
  const own = statedSd ?? kit.sd;
  const { sd: _, ...rest } = body;
  return {
    ...rest,
    // A reading of nothing says that there is less than the kit can tell, which no bias makes more of.
    value: raw === 0 ? 0 : Number(Math.max(0, raw - kit.bias).toPrecision(12)),
    ...(own === undefined ? {} : { sd: Math.hypot(own, kit.biasSd) }),
    kit: {
      id: kit.id,
      bias: kit.bias,
      bias_sd: kit.biasSd,
      ...defined({ stated_sd: statedSd }),
    },
  };
}

function correctionOf(old: Entry<'test'>, body: BodyOf<'test'>, nowMs: number) {
  return { kind: 'test' as const, timeMs: old.timeMs, recordedMs: nowMs, system: old.system, body, corrects: old.id };
}

function ofTest(kit: Kit, timeMs: number): KitOfTest {
  const isCorrected = kit.correctsFromMs !== undefined && timeMs >= kit.correctsFromMs;
  const found = isCorrected ? kit.found : undefined;
  const { value = 0, sd = 0 } = found?.bias ?? {};
  return { id: kit.id, name: kit.name, bias: value, biasSd: sd, sd: found?.weightSd };
}

function kitsOf(entries: readonly Entry<'kit'>[]): Kit[] {
  const byId = new Map<string, Kit>();
  for (const { body, timeMs } of entries) {
    if (body.event !== 'opened') continue;
    const { kit: id, name, analyte, lot, resolution } = body;
    const nothing = { pairs: [], correctsFromMs: undefined, found: undefined };
    byId.set(id, { id, name, analyte, lot, resolution, openedMs: timeMs, ...nothing });
  }
  // After all of them: what is dated before its kit was entered counts as well.
  for (const { body, timeMs } of entries) {
    if (body.event === 'opened') continue;
    const kit = byId.get(body.kit);
    if (kit === undefined) continue;
    if (body.event === 'applied') kit.correctsFromMs = body.fromMs;
    else {
      kit.pairs.push(...pairsOf(body));
      kit.correctsFromMs ??= timeMs;
    }
  }
  return [...byId.values()]
    .map((kit) => ({ ...kit, found: foundOf(kit) }))
    .sort((one, other) => one.openedMs - other.openedMs);
}

function pairsOf(body: Extract<BodyOf<'kit'>, { event: 'compared' }>): KitPair[] {
  const { found, reference, reference_sd: referenceSd, titration } = body;
  // Repeats on one titrated water share its error, as repeats on a bottle do.
  return found.map((each) => ({
    found: each,
    reference,
    referenceSd,
    isCommon: titration === undefined || found.length > 1,
  }));
}

function foundOf({ analyte, pairs, resolution }: Kit): KitFound | undefined {
  if (pairs.length === 0) return undefined;
  const usualSd = isDemandAnalyte(analyte) ? demandFacts[analyte].usualTestSd : undefined;
  return orRefused(() => kitFromPairs(pairs, { resolution, usualSd }));
}

/** @throws Refused out_of_range  for what no test of the analyte could be: mostly the unit is wrong */
function withinTests(analyte: Analyte, what: string, value: number, typed: number, unit: string | undefined): number {
  const [low, high] = testRange[analyte];
  if (value >= low && value <= high) return value;
  const store = metricFacts[analyte].unit;
  const found = `${what}: found ${typed} ${unit ?? store}`;
  throw new Refused('out_of_range', `${found}, allowed ${low} to ${high} ${store}. Is the unit right?`);
}

function storeValue(analyte: Analyte, value: number, unit: string | undefined): number {
  if (unit === undefined || unit === metricFacts[analyte].unit) return value;
  try {
    return toStoreUnit(analyte, value, unit);
  } catch (error) {
    throw new Refused('unknown_unit', error instanceof Error ? error.message : String(error));
  }
}
