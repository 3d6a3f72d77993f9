import { dayMs, hourMs, minuteMs } from '#rules/clock/durations.ts';
import { startRounds } from '../judgement/estimate/rounds.ts';
import { createEdgeTroubles } from '../outside/observability/edge-troubles.ts';
import { createTodayNotice } from '../reports/now/today-notice.ts';
import type { Part } from './run-parts.ts';
import type { WholeRoom } from './whole-room.ts';

const tickMs = 5_000;
/** A soak is timed to the second, and looks at the minute are cheap. */
const arrivalTickMs = 1_000;
/** What rules and notices remember, the trace of being alive, the heartbeat. */
const estimateEveryMs = hourMs;
/** Hourly, because what a day leaves behind would hold the process for half a second. */
const tidyEveryMs = hourMs;
/** The volume of one system is learned at a time, so that all have their turn in some hours. */
const volumeEveryMs = 600_000;

/** What the hub does by the clock. A fault in one of these ends it for that time only. */
export function createRoutine(room: WholeRoom): Part {
  let stop: (() => void) | undefined;
  const start = () => {
    stop = startRoutine(room);
  };
  return { name: 'routine', start, stop: () => stop?.() };
}

function startRoutine({
  config,
  contained,
  now,
  edges,
  record,
  judges,
  entering,
  upkeep,
  answering,
}: WholeRoom): () => void {
  const { store, roomTime } = record;
  const { watch, deliveries, ways, report } = judges;
  const { judging, calibrations, estimator, volumes, livestock } = entering;
  const { lifeSigns, progress, presence, observer } = upkeep;
  const { timers, backups } = observer;
  const edgeTroubles = createEdgeTroubles(edges.states, report);
  const teller = createTodayNotice({ config, store, ways, todo: answering.todo, nudge: deliveries.nudge });
  const every = (ms: number, stage: string, work: () => unknown) =>
    timers.every(stage, ms, () => contained.run(stage, work));
  every(tickMs, 'tick', () => {
    judging.catchUp();
    deliveries.look();
    edgeTroubles.look();
    watch.offer({ is: 'time' }, now());
    progress.judged();
    lifeSigns.tick();
  });
  every(arrivalTickMs, 'arrivals', () => livestock.tick(now()));
  every(minuteMs, 'state of the rules', () => watch.keep(now()));
  every(minuteMs, 'trace', () => {
    presence.mark();
    roomTime.keep();
  });
  every(minuteMs, 'heartbeat', () => lifeSigns.beat());
  every(arrivalTickMs, 'the list of the day', () => teller.tick(now()));
  every(minuteMs, 'new lots of kits', () => answering.lots.tick(now()));
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
  let volumeTurn = 0;
  every(volumeEveryMs, 'volumes', () => {
    const system = config.systems[volumeTurn % config.systems.length];
    volumeTurn += 1;
    if (system !== undefined)
      void volumes.of(system.id).catch((error: unknown) =>
        contained.run('volumes', () => {
          throw error;
        }),
      );
  });
  // What was on disk when the last run died, and was not judged.
  judging.catchUp();
  contained.run('calibrations', () => {
    for (const [probe, { entry }] of calibrations.newest())
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
