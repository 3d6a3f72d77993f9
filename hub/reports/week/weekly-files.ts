import type { JournalKind, Store } from '#adapters/ports/store.ts';
import type { Tables } from '#adapters/ports/tables.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { pastSalinity } from '../../judgement/estimate/past-salinity.ts';
import { daysOfWeek, type IsoWeek, isIsoWeek, weekBounds } from '../../model/calendar/iso-week.ts';
import type { Config } from '../../model/config/schema.ts';
import { readJournal, readKinds } from '../../model/journal/journal.ts';
import { type Cell, dailyTable } from './daily-table.ts';
import { alarmsTable, coralsTable, testsAndDosesTable } from './journal-tables.ts';
import { weeklyFigures } from './weekly-figures.ts';

/** A test of the salinity just before or after the week speaks for its water too. */
const nearbyMs = 3 * dayMs;

export type WeekFile = { name: string; text: string };

export type WeekSource = {
  config: Config;
  store: Pick<Store, 'series' | 'summaries' | 'journal'>;
  line: Tables['line'];
  nowMs(): number;
};

/**
 * The files of a week: `daily-`, `tests-doses-`, `alarms-` and, when there is one to tell, `corals-<week>.csv`. RFC 4180, times in the room's zone with
 * their offset. Of a week that is not over they hold what there is; of a text that names no week there are none.
 */
export function weeklyFiles({ config, store, line, nowMs }: WeekSource, week: IsoWeek): WeekFile[] {
  if (!isIsoWeek(week)) return [];
  const zone = config.site.timezone;
  const { startMs, endMs } = weekBounds(week, zone);
  const now = nowMs();
  const entries = <Kind extends JournalKind>(...kinds: Kind[]) =>
    readKinds(store, kinds, { fromMs: startMs, toMs: endMs });
  const salinities = new Map(
    config.systems.map(({ id }) => {
      const near = { system: id, fromMs: startMs - nearbyMs, toMs: endMs + nearbyMs };
      return [id, pastSalinity(store, id, readJournal(store, { kind: 'test', ...near }), startMs, endMs)];
    }),
  );
  const salinityThen = (system: string, timeMs: number) => salinities.get(system)?.(timeMs);
  const corals = entries('arrival', 'piece');
  const days = daysOfWeek(week, zone).filter((day) => day.startMs < now);
  const text = (table: readonly Cell[][]) => table.map((cells) => line(cells)).join('');
  return [
    { name: `daily-${week}.csv`, text: text(dailyTable(weeklyFigures(config, store, week, now), days, zone)) },
    {
      name: `tests-doses-${week}.csv`,
      text: text(testsAndDosesTable(entries('test', 'dose', 'water_change'), zone, salinityThen)),
    },
    { name: `alarms-${week}.csv`, text: text(alarmsTable(entries('alarm'), zone)) },
    // A room that keeps no register of its pieces is not sent an empty one.
    ...(corals.length === 0 ? [] : [{ name: `corals-${week}.csv`, text: text(coralsTable(corals, zone)) }]),
  ];
}
