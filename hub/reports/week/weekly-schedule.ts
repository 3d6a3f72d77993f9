import { join } from 'node:path';
import { DateTime } from 'luxon';
import type { Store } from '#adapters/ports/store.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { Ways } from '../../judgement/notices/notice-items.ts';
import type { ReviewFigures } from '../../model/answers/review-schema.ts';
import { type IsoWeek, isoWeekAt, weekAfter } from '../../model/calendar/iso-week.ts';
import type { Config } from '../../model/config/schema.ts';
import { readJournal } from '../../model/journal/journal.ts';
import { dueWeeks } from './due-weeks.ts';
import { lastToldDocument, mayTellNow, mondayCommit } from './monday-line.ts';
import { noteConfiguration } from './review/configuration-seen.ts';
import type { WeekFile } from './weekly-files.ts';

/** The document of the store that names the newest week whose files are on disk. */
const lastWeekDocument = 'last_week_written';

/**
 * A quarter past every hour of the room's clock: on Monday the week becomes due at 00:15, when the last readings have been flushed; in all
 * other hours there is nothing to do, unless the disk was full or the clock was wrong, and then it is tried again.
 */
const pastTheHourMs = 15 * 60_000;

export type WeeklyWork = {
  config: Config;
  store: Pick<Store, 'document' | 'commit' | 'series' | 'summaries' | 'journal' | 'flush'>;
  nowMs(): number;
  /** Whole or not at all. */
  write(path: string, text: string): Promise<void>;
  files(week: IsoWeek): WeekFile[];
  /** How a week is told when it is over. Absent: its files are written and nobody is told. */
  tell?: {
    ways: Ways;
    /** With the quiet hours that hold now. */
    config(): Config;
    review(week: IsoWeek): ReviewFigures | undefined;
    /** Something is in the outbox. */
    nudge(): void;
  };
  log: { info(fields: object, message: string): void; error(fields: object, message: string): void };
};

export type Weekly = {
  stop(): void;
  /** Resolves when no files are being written. */
  idle(): Promise<void>;
};

/** Writes the files of every week that is over, those missed while the hub was off at once, and then every Monday. */
export function startWeekly(work: WeeklyWork): Weekly {
  let isStopped = false;
  let writing: Promise<void> = Promise.resolve();
  let isWriting = false;

  function run(): void {
    if (isWriting) return;
    isWriting = true;
    noteAndLog(work);
    writing = writeDueWeeks(work, () => isStopped).finally(() => {
      if (!isStopped) tellLastWeek(work);
      isWriting = false;
    });
  }

  // One wait after the other and no rhythm: a clock that was set meanwhile is followed within the hour.
  let timer: NodeJS.Timeout;
  function waitForNext(): void {
    timer = setTimeout(
      () => {
        waitForNext();
        run();
      },
      untilNextMs(work.nowMs(), work.config.site.timezone),
    ).unref();
  }
  waitForNext();
  run();
  return {
    stop() {
      isStopped = true;
      clearTimeout(timer);
    },
    idle: () => writing,
  };
}

/** Zones differ from UTC by parts of an hour too. */
function untilNextMs(nowMs: number, zone: string): number {
  const offsetMs = DateTime.fromMillis(nowMs, { zone }).offset * 60_000;
  const intoHourMs = (((nowMs + offsetMs) % hourMs) + hourMs) % hourMs;
  return intoHourMs < pastTheHourMs ? pastTheHourMs - intoHourMs : pastTheHourMs + hourMs - intoHourMs;
}

/** Never rejects: what goes wrong is logged, and the week stays due. */
async function writeDueWeeks(work: WeeklyWork, isStopped: () => boolean): Promise<void> {
  const { config, store, log } = work;
  let week: IsoWeek | undefined;
  try {
    const last = store.document(lastWeekDocument);
    const zone = config.site.timezone;
    if (last === weekAfter(isoWeekAt(work.nowMs(), zone), -1)) return;
    const due = dueWeeks(last, firstData(store), work.nowMs(), zone);
    if (due.length > 0) store.flush();
    for (week of due) {
      // Computing a week holds the process for a moment; the probes are heard between two of them.
      await new Promise((resolve) => setImmediate(resolve));
      if (isStopped()) return;
      for (const file of work.files(week)) await work.write(join(config.weekly.dir, file.name), file.text);
      // The hub may have stopped, and closed the store, while the files were written: then they are written again.
      if (isStopped()) return;
      // After the files are on disk: a crash between the two must repeat the week, not forget it.
      store.commit({ documents: [{ name: lastWeekDocument, body: week }] });
      log.info({ week, dir: config.weekly.dir }, 'the files of the week are written');
    }
  } catch (error) {
    log.error({ err: error, week, dir: config.weekly.dir }, 'the files of the week could not be written');
  }
}

/** A week is judged by the bands of its time: what the configuration says is noted as soon as it is seen. */
function noteAndLog({ store, config, nowMs, log }: WeeklyWork): void {
  try {
    noteConfiguration(store, config, nowMs());
  } catch (error) {
    log.error({ err: error }, 'the configuration could not be noted for the review of the week');
  }
}

/** Tells the newest week whose files are written, once; those made up before it are old news. Never throws. */
function tellLastWeek({ config, store, nowMs, tell, log }: WeeklyWork): void {
  if (tell === undefined) return;
  try {
    const week = store.document(lastWeekDocument);
    if (week === undefined || week === store.document(lastToldDocument)) return;
    if (week !== weekAfter(isoWeekAt(nowMs(), config.site.timezone), -1) || !mayTellNow(tell.config(), nowMs())) return;
    const review = tell.review(week);
    if (review === undefined) return;
    // The note and the messages in one transaction: a crash before it repeats both, after it neither.
    store.commit(mondayCommit(review, tell.ways));
    tell.nudge();
  } catch (error) {
    log.error({ err: error }, 'the result of the week could not be told');
  }
}

/** The time of the oldest thing that belongs into a week's files. */
function firstData(store: WeeklyWork['store']): number | undefined {
  const firsts = store.series().map((series) => {
    // By days and then within one, since ten years of hours take a second to read.
    const day = store.summaries(series, 'day', 0, Number.MAX_SAFE_INTEGER)[0]?.startMs;
    return day === undefined ? undefined : store.summaries(series, 'hour', day, day + dayMs)[0]?.startMs;
  });
  firsts.push(readJournal(store, { order: 'oldest', limit: 1 })[0]?.timeMs);
  const known = firsts.filter((timeMs) => timeMs !== undefined);
  return known.length === 0 ? undefined : Math.min(...known);
}
