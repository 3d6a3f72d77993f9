import { type Access, createAccess } from '../outside/access/access.ts';
import { absenceRemark } from '../outside/away/absence-remark.ts';
import { createDeadMansSwitch, type DeadMansSwitch } from '../outside/away/dead-mans-switch.ts';
import { createPresence, type PresenceTrace } from '../outside/away/presence.ts';
import { createProgress, type Progress } from '../outside/away/progress.ts';
import { createObserver, type Observer } from '../outside/observability/observer.ts';
import { version } from '../version.ts';
import type { Entering } from './entering.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { Readings } from './readings.ts';
import type { RoomRecord } from './record.ts';

export type Upkeep = {
  access: Access;
  observer: Observer;
  progress: Progress;
  lifeSigns: DeadMansSwitch;
  presence: PresenceTrace;
  /** What the rules remember and the last trace of being alive, on disk: the end of this run. */
  keepAll(): void;
};

/** Who looks at the hub itself: its health, its signs of life, whether it was away. What moves with the clock is led here. */
export function createUpkeep(
  room: Ground & { record: RoomRecord; judges: Judges; entering: Entering; readings: Readings },
): Upkeep {
  const { config, adapters, clock, log, now, contained, edges, topics, live, record, judges, entering, readings } =
    room;
  const { store, roomTime, startedMs, dating } = record;
  const { watch, deliveries, notifiers } = judges;
  const { livestock, judging, outward } = entering;
  const { pipeline, rejects, clocks } = readings;

  const access = createAccess({ config, nowMs: now, log });
  const progress = createProgress(() => clock.monotonicMs());
  const observer = createObserver({
    version,
    config,
    clock,
    startedMs,
    room: record,
    watch,
    pipeline,
    rejects,
    contained,
    live,
    log,
    progress,
    edges: edges.states,
    isStarted: edges.isStarted,
    destinations: [...notifiers.map(({ destination }) => destination), 'influx'],
    deliveries,
    judging,
    wrongClocks: clocks.list,
    doorFault: () => access.fault(),
  });
  const lifeSigns = createDeadMansSwitch({
    clock,
    serviceManager: adapters.serviceManager,
    topic: topics.heartbeat,
    link: edges.link,
    progress,
    facts: () => {
      const { status, causes } = observer.health();
      return {
        since: new Date(startedMs).toISOString(),
        readings: pipeline.counts.accepted,
        status,
        causes: causes.slice(0, 5),
      };
    },
  });
  const presence = createPresence(store, clock, absenceRemark(config, watch, now, log), dating.isClockTrusted);
  clock.onChange(({ kind, byMs }) => kind !== 'refused' && outward.moveTimes(byMs));
  roomTime.lead([
    { keep: () => presence.mark() },
    { moveTimes: livestock.moveTimers, keep: livestock.keep },
    { moveTimes: watch.moveTimes, keep: () => watch.keep(now()) },
  ]);
  return {
    access,
    observer,
    progress,
    lifeSigns,
    presence,
    keepAll() {
      watch.stop();
      contained.run('state of the rules', () => watch.keepAll(now()));
      contained.run('trace', () => presence.markStop());
    },
  };
}
