import type { FastifyBaseLogger } from 'fastify';
import type { ClockChange, RoomClock } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import { type ClockMove, moveOfSetting, moveOfStep } from '#rules/clock/clock-move.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { durationText } from '#rules/words/value-text.ts';
import { written } from '../../model/journal/journal.ts';
import { presenceDocument, presenceFrom } from './presence-stamp.ts';

/** What the next start must not fall behind, where the clock was never set. */
const documentName = 'clock-stamp';
/** A hub that is started again in the second after a small correction of the clock is not in the past. */
const restartMarginMs = 10_000;

/** After so long without a word of doubt a date may be what old readings are deleted by. */
const doubtMs = 7 * dayMs;
/** A hub that seems to have been off for longer may as well have a clock that is wrong. */
const longAwayMs = 30 * dayMs;

/** The newest moment that the store knows of. */
function lastStampOf(store: Pick<Store, 'document'>): number | undefined {
  const stamps = [
    presenceFrom(store.document(presenceDocument))?.aliveMs,
    presenceFrom(store.document(documentName))?.aliveMs,
  ];
  const known = stamps.filter((stamp) => stamp !== undefined);
  return known.length === 0 ? undefined : Math.max(...known);
}

export type RoomTimeParts = {
  clock: RoomClock;
  store: Pick<Store, 'document' | 'commit'>;
  isAlwaysTrusted: boolean;
  log: Pick<FastifyBaseLogger, 'warn' | 'info'>;
  /** Runs what may store something; a fault of it stays in there. */
  contained(work: () => void): void;
};

/** A part that counts from moments it remembers. */
export type Follower = {
  /** Before anybody sees the new time. */
  moveTimes?(move: ClockMove): void;
  /** Stores what it remembers, when the write of the moment is over. */
  keep(): void;
};

export type RoomTime = {
  /** From now on these take part in every move of the clock, in this order. */
  lead(followers: readonly Follower[]): void;
  /** Leaves a stamp while nobody knows the time. Called about once a minute. */
  keep(): void;
  /** Whether the date is certain enough to delete what is old by it. */
  mayDeleteByAge(): boolean;
  stop(): void;
};

/** Begins the time of the room from what the store knows, and sees that everything moves with it and that it is written down. */
export function startRoomTime(parts: RoomTimeParts): RoomTime {
  const { clock, store, log } = parts;
  const lastStampMs = lastStampOf(store);
  const known = lastStampMs === undefined ? undefined : lastStampMs - restartMarginMs;
  clock.begin({ lastStampMs: known, isAlwaysTrusted: parts.isAlwaysTrusted });
  const startedMs = clock.nowMs();
  let followers: readonly Follower[] = [];
  const isLongAway = lastStampMs !== undefined && startedMs - lastStampMs > longAwayMs;
  let doubtedMonotonicMs = isLongAway ? clock.monotonicMs() : Number.NEGATIVE_INFINITY;
  let isStopped = false;
  const { isTrusted, why } = clock.state();
  if (!isTrusted) log.warn({ why }, 'the clock is not set: alarms go out, readings wait for their dates');

  function leaveStamp(): void {
    store.commit({
      documents: [{ name: documentName, body: JSON.stringify({ aliveMs: clock.nowMs(), isStopped: false }) }],
    });
  }

  /** In the journal, since whoever reads the record later must know which of its times to doubt. */
  function writeDown(change: ClockChange): void {
    const line = lineOf(change);
    log.warn({ ...change }, line);
    const body = { event: `clock_${change.kind}`, note: line, by_ms: change.byMs };
    const entry = { kind: 'note' as const, timeMs: change.atMs, recordedMs: change.atMs, system: '', body };
    const stamp = { name: documentName, body: JSON.stringify({ aliveMs: change.atMs, isStopped: false }) };
    store.commit({ entries: [written(entry)], documents: change.kind === 'refused' ? [] : [stamp] });
  }

  const endListening = clock.onChange((change) => {
    if (change.kind !== 'refused') {
      const move = change.kind === 'set' ? moveOfSetting(change.byMs, startedMs) : moveOfStep(change.byMs);
      for (const follower of followers) follower.moveTimes?.(move);
    }
    if (change.kind !== 'set' && Math.abs(change.byMs) > hourMs) doubtedMonotonicMs = clock.monotonicMs();
    // The time may have been asked for in the middle of a write.
    setImmediate(() => {
      if (isStopped) return;
      parts.contained(() => writeDown(change));
      for (const follower of followers) parts.contained(() => follower.keep());
    });
  });

  return {
    lead(given) {
      followers = given;
    },
    keep() {
      if (!clock.state().isTrusted) leaveStamp();
    },
    mayDeleteByAge: () => clock.state().isTrusted && clock.monotonicMs() - doubtedMonotonicMs > doubtMs,
    stop() {
      isStopped = true;
      endListening();
    },
  };
}

function lineOf({ kind, atMs, byMs }: ClockChange): string {
  const span = durationText(Math.abs(byMs));
  const way = byMs < 0 ? 'back' : 'forward';
  const at = new Date(atMs).toISOString();
  if (kind === 'set')
    return `The clock is set, ${at}. Alarms and entries since the start bear times ${span} too ${byMs < 0 ? 'late' : 'early'}.`;
  if (kind === 'stepped')
    return `The clock was moved ${way} by ${span}, to ${at}. Times before this may be wrong by as much.`;
  return `The machine's clock was moved ${way} by ${span}, to before the hub was built. The hub counts on by itself, ${at}.`;
}
