import type { EdgeState } from '#adapters/ports/edge.ts';
import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { hourMs } from '#rules/clock/durations.ts';
import { durationText } from '#rules/words/value-text.ts';
import type { WrongClock } from '../../flow/pipeline/wrong-clocks.ts';
import type { Deliveries } from '../../judgement/notices/deliveries.ts';
import { leastFreeBytes } from '../../judgement/pieces/least-free.ts';
import type { Judging } from '../../judgement/watch/judging.ts';
import type { Cause } from '../../model/answers/health-schema.ts';
import type { Progress } from '../away/progress.ts';
import type { BackupState } from '../backups/backups.ts';
import type { TimerState } from './timers.ts';

export type CauseParts = {
  clock: RoomClock;
  /** All is started. */
  isStarted(): boolean;
  progress: Pick<Progress, 'isMoving'>;
  edges(): readonly EdgeState[];
  store: Pick<Store, 'outboxDepth'>;
  /** Why nothing can be saved now. */
  storeFault(): string | undefined;
  freeBytes(): number | undefined;
  backups(): BackupState;
  timers(): readonly TimerState[];
  deliveries: Pick<Deliveries, 'causes'>;
  judging: Pick<Judging, 'behind'>;
  /** Probes whose readings are dropped, being dated ahead. */
  wrongClocks(): readonly WrongClock[];
  /** The longest time within the last minute or two in which nothing could be done, milliseconds. */
  stoodStillMs(): number;
  standing(): readonly Pick<StandingAlarm, 'id' | 'isStanding' | 'message'>[];
  /** Why nobody can sign in. */
  doorFault(): string | undefined;
};

/** A backup is made each day; two nights without one are a fault. */
const oldestBackupMs = 50 * hourMs;
/** A timer that has not run for three of its turns hangs. */
const lateTurns = 3;
/** An entry is judged within milliseconds of its answer. */
const behindMs = 10_000;
/** The mirror is for looking back; a broker or server that is restarted is not worth a word. */
const mirrorBehindMs = 15 * 60_000;
/** So long nothing was heard or said. */
const standstillMs = 5_000;

/** Alarms of the hub about itself, whose fault is over or not to be seen elsewhere. */
const ownAlarm = /^room\/edges\/edge_fault\/(hub|store\/.+)$/;

type Found = string | undefined;

/** Each state in which the hub does not do what it is for: one entry each, with the part that it is told of. */
const entries: readonly ((parts: CauseParts) => Cause[])[] = [
  ({ progress }) => one('rules', progress.isMoving() ? undefined : 'readings or time are no longer judged'),
  ({ isStarted }) => one('start', isStarted() ? undefined : 'still starting'),
  ({ storeFault }) => one('store', storeFault()),
  ({ edges }) =>
    edges().flatMap(({ name, isUp, lastError }) =>
      one(`edge ${name}`, isUp ? undefined : (lastError ?? 'not connected')),
    ),
  ({ edges }) => edges().flatMap(({ name, trouble }) => one(`edge ${name}`, trouble)),
  ({ deliveries }) => deliveries.causes().flatMap((cause) => one('notices', cause)),
  ({ judging }) => {
    const { systems, forMs } = judging.behind();
    const isBehind = systems > 0 && forMs > behindMs;
    return one('rules', isBehind ? `entries of ${systems} systems not judged for ${secondsOf(forMs)} s` : undefined);
  },
  ({ stoodStillMs }) => {
    const ms = stoodStillMs();
    return one('hub', ms > standstillMs ? `froze for ${secondsOf(ms)} s: the machine is too busy` : undefined);
  },
  ({ standing }) =>
    standing().flatMap(({ id, isStanding, message }) =>
      one(ownAlarm.exec(id)?.[1] === 'hub' ? 'hub' : 'record', isStanding && ownAlarm.test(id) ? message : undefined),
    ),
  ({ clock }) => one('clock', clock.state().why),
  ({ wrongClocks }) => clocksOfProbes(wrongClocks()),
  ({ store, clock }) => {
    const { oldestMs, waiting } = store.outboxDepth('influx');
    const ageMs = oldestMs === undefined ? 0 : clock.nowMs() - oldestMs;
    return one(
      'mirror',
      ageMs > mirrorBehindMs ? `${waiting} batches wait, the oldest for ${secondsOf(ageMs)} s` : undefined,
    );
  },
  ({ doorFault }) => one('access', doorFault()),
  ({ backups, clock }) => {
    const { isEnabled, lastGoodMs, error } = backups();
    const isStale = isEnabled && lastGoodMs !== undefined && clock.nowMs() - lastGoodMs > oldestBackupMs;
    return one('backup', error ?? (isStale ? 'no good backup for two days' : undefined));
  },
  ({ freeBytes }) => {
    const free = freeBytes();
    return one('disk', free !== undefined && free < leastFreeBytes ? `${free} bytes free` : undefined);
  },
  ({ timers }) =>
    timers().flatMap(({ name, everyMs, lastAgoMs }) => {
      const isLate = lastAgoMs !== null && lastAgoMs > lateTurns * everyMs + 5_000;
      return one(`timer ${name}`, isLate ? `has not run for ${secondsOf(lastAgoMs)} s` : undefined);
    }),
];

/** In the order of the list: what keeps an alarm from a person first. */
export function healthCauses(parts: CauseParts): Cause[] {
  return entries.flatMap((entry) => entry(parts));
}

/** A dead time server puts all boards of a room wrong at once. */
const mostClocksNamed = 10;

function clocksOfProbes(wrong: readonly WrongClock[]): Cause[] {
  const more = wrong.length - mostClocksNamed;
  return [
    ...wrong.slice(0, mostClocksNamed).map(({ probe, aheadMs }) => ({
      part: `probe ${probe}`,
      cause: `its clock is ${durationText(aheadMs)} ahead of the hub's: set it; until then its readings are dropped`,
    })),
    ...one('probes', more > 0 ? `the clocks of ${more} more are ahead of the hub's` : undefined),
  ];
}

function one(part: string, cause: Found): Cause[] {
  return cause === undefined ? [] : [{ part, cause }];
}

function secondsOf(ms: number): number {
  return Math.round(ms / 1000);
}
