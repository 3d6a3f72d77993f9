import type { Store } from '#adapters/ports/store.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { systemAt } from '../../model/config/system-at.ts';
import { type Entry, readJournal } from '../../model/journal/journal.ts';
import { risesOfDose } from './dose-rise.ts';

export type EnteredSince = { evidence: Evidence[]; lastEntry: number };

/**
 * What people entered for a system after an entry of the journal, as the rules are to judge it; undefined when there is
 * nothing. The newest test of each analyte comes first: an older one says nothing about now, and must not raise what the newer
 * one has ended.
 */
export function evidenceSince(
  store: Pick<Store, 'journal'>,
  system: SystemConfig,
  afterId: number,
): EnteredSince | undefined {
  const entered = <Kind extends 'test' | 'dose'>(kind: Kind, history: boolean) =>
    readJournal(store, { kind, system: system.id, afterId, history });
  const allTests = entered('test', true);
  const allDoses = entered('dose', true);
  const all = [...allTests, ...allDoses];
  if (all.length === 0) return undefined;
  const tests = [
    ...entered('test', false).map((entry) => testOf(entry, entry.timeMs)),
    ...allTests.filter(({ corrects }) => corrects !== undefined).flatMap((entry) => testThatCounts(store, entry)),
  ];
  return {
    evidence: [
      ...tests.toSorted((a, b) => b.timeMs - a.timeMs),
      ...entered('dose', false).flatMap((entry) => dosesOf(system, entry)),
    ],
    lastEntry: Math.max(...all.map(({ id }) => id)),
  };
}

/** The newest entry that was in the journal when the rules were stored at that time, by a store that does not name it. */
export function lastEntryRecordedBy(store: Pick<Store, 'journal'>, system: string, recordedMs: number): number {
  const ids = (['test', 'dose'] as const).flatMap((kind) =>
    readJournal(store, { kind, system, history: true })
      .filter((entry) => entry.recordedMs <= recordedMs)
      .map(({ id }) => id),
  );
  return ids.reduce((last, id) => Math.max(last, id), 0);
}

type TestEvidence = Extract<Evidence, { is: 'test' }>;

function testOf({ system, body }: Entry<'test'>, timeMs: number): TestEvidence {
  const { analyte, value } = body;
  return { is: 'test', system, analyte, value, timeMs };
}

/**
 * What counts when a test was taken back or corrected is the newest that is left: the water must not be judged by a number
 * that nobody stands for. It speaks for the moment of that number, since a test older than the last one known says nothing
 * about now.
 */
function testThatCounts(store: Pick<Store, 'journal'>, change: Entry<'test'>): TestEvidence[] {
  const { system, body, timeMs, corrects } = change;
  const newest = readJournal(store, { kind: 'test', system, order: 'newest' }).find(
    (entry) => entry.body.analyte === body.analyte,
  );
  if (newest === undefined) return [];
  const old = corrects === undefined ? undefined : readJournal(store, { id: corrects, history: true })[0];
  return [testOf(newest, Math.max(newest.timeMs, timeMs, old?.timeMs ?? 0))];
}

function dosesOf(system: SystemConfig, { timeMs, body }: Entry<'dose'>): Evidence[] {
  return Object.entries(risesOfDose(systemAt(system, timeMs), body))
    .filter(([, rise]) => rise > 0)
    .map(([analyte, rise]) => ({
      is: 'dose',
      system: system.id,
      timeMs,
      raisesBy: rise,
      analyteRaised: analyte as DemandAnalyte,
    }));
}
