import type { Store } from '#adapters/ports/store.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, readJournal } from '../../model/journal/journal.ts';
import type { DeclineReason } from '../../model/journal/reasons.ts';
import { keptAdvice } from './advice-log.ts';

export type Decline = { reason: DeclineReason; note?: string | undefined; by: string; timeMs: number };

export type DeclineEntry = {
  system: string;
  analyte: AdviceAnalyte;
  reason: DeclineReason;
  note?: string | undefined;
  by: string;
  key?: string | undefined;
};

export type DeclinedAdvice = {
  /** Why this advice is folded away; undefined when it is not, or has become other advice since. */
  of(system: string, analyte: AdviceAnalyte, advice: Advice): Decline | undefined;
  /** On disk when this returns; the same key again is the same entry. */
  decline(entry: DeclineEntry, advice: Advice, nowMs: number): number;
  /** Shows it again. */
  resume(entry: Omit<DeclineEntry, 'reason' | 'note'>, advice: Advice, nowMs: number): number;
};

type Known = { decline: Decline; advice: Advice } | null;

/** Advice of all analytes of a system that is looked through for the last of one. */
const mostLookedThrough = 60;

/**
 * Advice that a person has declined, in the journal beside the advice itself. A decline ends when the advice becomes other
 * advice: the journal then has a later one, so that it stays ended after a restart as well.
 */
export function createDeclinedAdvice(store: Pick<Store, 'commit' | 'journal'>): DeclinedAdvice {
  const known = new Map<string, Known>();
  const keyOf = (system: string, analyte: string) => `${system}\0${analyte}`;

  function read(system: string, analyte: AdviceAnalyte): Known {
    const last = readJournal(store, { kind: 'advice', system, order: 'newest', limit: mostLookedThrough }).find(
      ({ body }) => body.analyte === analyte,
    );
    return last === undefined ? null : declineIn(last);
  }

  function keep(
    { system, analyte, key }: Pick<DeclineEntry, 'system' | 'analyte' | 'key'>,
    body: Omit<BodyOf<'advice'>, 'analyte'>,
    nowMs: number,
  ): number {
    const { id } = append(store, {
      kind: 'advice',
      timeMs: nowMs,
      recordedMs: nowMs,
      system,
      body: { analyte, ...body },
      ...(key === undefined ? {} : { key: `advice:${key}` }),
    });
    // Read again and not set: a repeat under an old key changes nothing.
    known.delete(keyOf(system, analyte));
    return id;
  }

  return {
    of(system, analyte, advice) {
      const key = keyOf(system, analyte);
      if (!known.has(key)) known.set(key, read(system, analyte));
      const last = known.get(key) ?? null;
      if (last === null) return undefined;
      if (!isNewsBeside(last.advice, advice)) return last.decline;
      known.set(key, null);
      return undefined;
    },
    decline(entry, advice, nowMs) {
      const { reason, note, by } = entry;
      return keep(entry, { advice, declined: { reason, note, by } }, nowMs);
    },
    resume: (entry, advice, nowMs) => keep(entry, { advice, resumed: { by: entry.by } }, nowMs),
  };
}

function declineIn({ body: { declined, advice: found }, timeMs }: Entry<'advice'>): Known {
  const advice = keptAdvice(found);
  return declined === undefined || advice === undefined ? null : { decline: { ...declined, timeMs }, advice };
}
