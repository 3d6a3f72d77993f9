import { startWeekly, type Weekly } from '../reports/week/weekly-schedule.ts';
import type { Part } from './run-parts.ts';
import type { WholeRoom } from './whole-room.ts';

/** The files of each week that is over, and the line about it. */
export function createWeeks({ config, adapters, log, now, record, judges, answering }: WholeRoom): Part {
  const { store } = record;
  const { ways, settings, deliveries } = judges;
  const { week } = answering;
  let weekly: Weekly | undefined;
  return {
    name: 'weeks',
    start() {
      weekly = startWeekly({
        config,
        store,
        nowMs: now,
        write: adapters.writeFile,
        files: week.files,
        log,
        tell: { ways, config: settings.effective, review: week.review, nudge: deliveries.nudge },
      });
    },
    stop: () => weekly?.stop(),
  };
}
