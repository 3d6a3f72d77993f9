import type { Store } from '#adapters/ports/store.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { readJournal, written } from '../../model/journal/journal.ts';
import type { AdviceOfAnalyte } from './estimator.ts';

export type AdviceLog = { note(system: string, items: readonly AdviceOfAnalyte[], nowMs: number): void };

/** Advice of all analytes of a system that is looked through for the last of one. */
const mostLookedThrough = 40;

/** Advice as the journal has it; undefined for one in the form of an older hub, beside which all is news. */
export function keptAdvice(found: unknown): Advice | undefined {
  const advice = found as Advice | undefined;
  return Array.isArray(advice?.plan) ? advice : undefined;
}

/** Keeps each piece of advice in the journal when it changes for a person; the same again is not news. */
export function createAdviceLog(store: Pick<Store, 'commit' | 'journal'>): AdviceLog {
  /** The last that was news, by system and analyte: small steps add up against it and not against the hour before. */
  const lastNews = new Map<string, Advice | undefined>();

  function lastKept(system: string, analyte: string): Advice | undefined {
    const last = readJournal(store, { kind: 'advice', system, order: 'newest', limit: mostLookedThrough });
    return keptAdvice(last.find(({ body }) => body.analyte === analyte)?.body.advice);
  }

  return {
    note(system, items, nowMs) {
      const news = items.filter(({ analyte, advice }) => {
        const key = `${system}\0${analyte}`;
        if (!lastNews.has(key)) lastNews.set(key, lastKept(system, analyte));
        const before = lastNews.get(key);
        return before === undefined || isNewsBeside(before, advice);
      });
      if (news.length === 0) return;
      store.commit({
        entries: news.map(({ analyte, advice }) =>
          written({ kind: 'advice', timeMs: nowMs, recordedMs: nowMs, system, body: { analyte, advice } }),
        ),
      });
      // Only what is on disk was said: after a full disk it is news again.
      for (const { analyte, advice } of news) lastNews.set(`${system}\0${analyte}`, advice);
    },
  };
}
