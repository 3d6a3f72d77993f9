import type { Clock } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import { type Presence, presenceDocument, presenceFrom } from '../../flow/clock/presence-stamp.ts';
import { type Absence, absenceBefore } from './absence.ts';

export type PresenceTrace = {
  /** Once a minute: leaves a trace, and tells of an absence before it as soon as the clock allows to know of one. */
  mark(): void;
  /** The last trace, at an orderly stop. */
  markStop(): void;
};

/** A small document every minute: from it the next start knows since when nobody was there. */
export function createPresence(
  store: Pick<Store, 'commit' | 'keepSoon' | 'document'>,
  clock: Clock,
  wasAway: (absence: Absence) => void,
  /** While nobody knows the time there is nothing to leave or to tell. */
  isClockTrusted: () => boolean = () => true,
): PresenceTrace {
  const startedMonotonicMs = clock.monotonicMs();
  let last: Presence | undefined = presenceFrom(store.document(presenceDocument));
  let isSettled = last === undefined;
  let markedMonotonicMs = startedMonotonicMs;
  let markedMs: number | undefined;

  function leave(isStopped: boolean): void {
    const presence: Presence = { aliveMs: clock.nowMs(), isStopped };
    const documents = [{ name: presenceDocument, body: JSON.stringify(presence) }];
    // With the next readings, since a minute's trace is not worth a write of its own; the last one has no readings to wait for.
    if (isStopped) store.commit({ documents });
    else store.keepSoon(documents);
    markedMs = presence.aliveMs;
    markedMonotonicMs = clock.monotonicMs();
  }

  return {
    mark() {
      const nowMs = clock.nowMs();
      if (!isClockTrusted()) return;
      if (!isSettled && last !== undefined) {
        // The clock is still in the past: the trace of the former life is all that is known of it, and stays.
        if (nowMs < last.aliveMs) return;
        isSettled = true;
        // By a clock that nobody sets: the wall clock may have jumped since the start.
        const startedMs = Math.max(last.aliveMs, nowMs - (clock.monotonicMs() - startedMonotonicMs));
        const absence = absenceBefore(last, startedMs);
        last = undefined;
        if (absence !== undefined) wasAway(absence);
      }
      const frozenMs = clock.monotonicMs() - markedMonotonicMs;
      const frozen = markedMs === undefined ? undefined : { aliveMs: nowMs - frozenMs, isStopped: false };
      leave(false);
      // The process itself stood still, while nobody had set the clock.
      const absence = absenceBefore(frozen, nowMs);
      if (absence !== undefined) wasAway(absence);
    },
    markStop() {
      if (isSettled && isClockTrusted()) leave(true);
    },
  };
}
