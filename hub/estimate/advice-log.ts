import type { Store } from '#adapters/ports/store.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import type { AdviceOfAnalyte } from './estimator.ts';

/** What makes two pieces of advice the same to a person: what to do, how much, and what it waits for. */
function gist({ kind, maintenance, correction, holdBacks }: Advice): string {
  return JSON.stringify([
    kind,
    maintenance?.amountPerDay ?? maintenance?.risePerDay ?? null,
    correction?.totalAmount ?? correction?.totalRise ?? null,
    holdBacks.map(({ rule }) => rule),
  ]);
}

export type AdviceLog = { note(system: string, items: readonly AdviceOfAnalyte[], nowMs: number): void };

/** Keeps each piece of advice in the journal when it changes for a person; the same again is not news. */
export function createAdviceLog(store: Pick<Store, 'commit' | 'journal'>): AdviceLog {
  const lastGist = new Map<string, string>();

  function gistKept(system: string, analyte: string): string | undefined {
    const last = store
      .journal({ kind: 'advice', system, order: 'newest', limit: 20 })
      .find(({ body }) => body['analyte'] === analyte);
    return typeof last?.body['gist'] === 'string' ? last.body['gist'] : undefined;
  }

  return {
    note(system, items, nowMs) {
      const changed = items.filter(({ analyte, advice }) => {
        const key = `${system}\0${analyte}`;
        const now = gist(advice);
        const before = lastGist.get(key) ?? gistKept(system, analyte);
        lastGist.set(key, now);
        return now !== before;
      });
      if (changed.length === 0) return;
      store.commit({
        entries: changed.map(({ analyte, advice }) => ({
          ...{ kind: 'advice', timeMs: nowMs, recordedMs: nowMs, system },
          body: { analyte, gist: gist(advice), advice },
        })),
      });
    },
  };
}
