import type { Store } from '#adapters/ports/store.ts';
import type { Calibrations } from '../flow/calibration/calibrations.ts';
import type { RoomTime } from '../flow/clock/room-time.ts';
import type { Containment } from '../flow/pipeline/containment.ts';
import type { Reception } from '../judgement/arrivals/reception.ts';
import type { Estimator } from '../judgement/estimate/estimator.ts';
import { startRounds } from '../judgement/estimate/rounds.ts';
import type { Deliveries } from '../judgement/notices/deliveries.ts';
import type { Judging } from '../judgement/watch/judging.ts';
import type { RoomWatch } from '../judgement/watch/room-watch.ts';
import type { Config } from '../model/config/schema.ts';
import type { DeadMansSwitch } from '../outside/away/dead-mans-switch.ts';
import type { PresenceTrace } from '../outside/away/presence.ts';
import type { Observer } from '../outside/observability/observer.ts';
import type { TodayTeller } from '../reports/now/today-told.ts';

const tickMs = 5_000;
/** A soak is timed to the second, and looks at the minute are cheap. */
const arrivalTickMs = 1_000;
/** What rules and notices remember, the trace of being alive, the heartbeat. */
const minuteMs = 60_000;
const estimateEveryMs = 3_600_000;
/** Hourly, because what a day leaves behind would hold the process for half a second. */
const tidyEveryMs = 3_600_000;
const dayMs = 86_400_000;

export type RoutineParts = {
  config: Config;
  store: Pick<Store, 'dropReadingsBefore'>;
  watch: RoomWatch;
  deliveries: Pick<Deliveries, 'look'>;
  edgeTroubles: { look(): void };
  judging: Pick<Judging, 'catchUp'>;
  calibrations: Pick<Calibrations, 'newest'>;
  estimator: Estimator;
  reception: Reception;
  lifeSigns: DeadMansSwitch;
  teller: TodayTeller;
  presence: PresenceTrace;
  contained: Containment;
  roomTime: RoomTime;
  observer: Pick<Observer, 'backups' | 'timers'>;
  now(): number;
};

/**
 * What the hub does by the clock. A fault in one of these ends it for that time only.
 *
 * @returns what stops it
 */
export function startRoutine(parts: RoutineParts): () => void {
  const { config, store, watch, judging, estimator, reception, lifeSigns, presence, contained, roomTime, now } = parts;
  const { timers, backups } = parts.observer;
  const every = (ms: number, stage: string, work: () => unknown) =>
    timers.every(stage, ms, () => contained.run(stage, work));
  every(tickMs, 'tick', () => {
    judging.catchUp();
    parts.deliveries.look();
    parts.edgeTroubles.look();
    watch.offer({ is: 'time' }, now());
    lifeSigns.progress.judged();
    lifeSigns.tick();
  });
  every(arrivalTickMs, 'arrivals', () => reception.tick(now()));
  every(minuteMs, 'state of the rules', () => watch.keep(now()));
  every(minuteMs, 'trace', () => {
    presence.mark();
    roomTime.keep();
  });
  every(minuteMs, 'heartbeat', () => lifeSigns.beat());
  every(arrivalTickMs, 'the list of the day', () => parts.teller.tick(now()));
  every(tidyEveryMs, 'old readings', () => {
    // A clock that somebody has set years ahead would have the whole record deleted.
    if (roomTime.mayDeleteByAge()) store.dropReadingsBefore(now() - config.keep_readings_days * dayMs);
  });
  every(minuteMs, 'backups', () => backups.tick());
  const refreshEstimates = (system: string) =>
    contained.run('estimates', () => {
      for (const evidence of estimator.refresh(system)) watch.offer(evidence, now());
    });
  // A probe that speaks again, or falls silent, changes advice at once: it must not say for an hour what is no longer so.
  every(minuteMs, 'advice', () => {
    for (const { id } of config.systems) if (estimator.isOutdated(id)) refreshEstimates(id);
  });
  const stopRounds = startRounds(
    config.systems.map(({ id }) => id),
    estimateEveryMs,
    refreshEstimates,
  );
  // What was on disk when the last run died, and was not judged.
  judging.catchUp();
  contained.run('calibrations', () => {
    for (const [probe, { entry }] of parts.calibrations.newest())
      watch.offer({ is: 'calibration', probe, timeMs: entry.timeMs }, now());
  });
  contained.run('backups', () => backups.tick());
  contained.run('trace', () => presence.mark());
  contained.run('state of the rules', () => watch.keep(now()));
  return () => {
    timers.stop();
    stopRounds();
  };
}
