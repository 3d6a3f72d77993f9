import * as z from 'zod';
import type { Store } from '#adapters/ports/store.ts';
import { flags, type Quality, type Reading, type Series } from '#rules/quality/reading.ts';
import { type NewEntry, written } from '../../model/journal/journal.ts';

/** A document holds so many readings at most, some 150 kB. */
const readingsOfAPage = 5_000;
/** With a page at each flush, so many are made into as few as can be: hours of them would be thousands. */
const mostPages = 500;
const pageName = (page: number) => `undated-${page}`;
const answerName = 'undated-answer';

const count = z.number().int().min(0);
const page = z.object({
  boot: z.string(),
  /** What the room's time was ahead of the monotonic clock when these came, milliseconds. */
  aheadMs: z.number(),
  series: z.array(z.object({ system: z.string(), metric: z.string(), probe: z.string() })),
  /** Series by its place above, the room's time, flag by its place among `flags`, value. */
  rows: z.array(z.tuple([count, z.number(), count.max(flags.length - 1), z.number()])),
});
/** Once the time is known: what the true time is ahead of the monotonic clock of that boot. */
const answer = z.object({ boot: z.string(), aheadMs: z.number() });

type Page = z.infer<typeof page>;
type Answer = z.infer<typeof answer>;

/** What earlier runs left. */
type LeftOver = {
  /** Times by the count of the run that took them. */
  readings: Reading[];
  boot: string;
  aheadMs: number;
};

type UndatedPages = {
  /**
   * Puts down those from `fromIndex` on beside what is there; from 0 on they take the place of all that is there.
   * Is: on disk when this returns. @throws StoreError
   */
  write(readings: readonly Reading[], fromIndex: number, note?: UndatedNote): void;
  /** Whoever finds the pages after this dates them alike, to the millisecond. @throws StoreError */
  answer(trueAheadMs: number): void;
  hasPages(): boolean;
};

/** For the journal, in the same transaction. */
export type UndatedNote = { text: string; atMs: number; readings: number };

function parsed<Found>(schema: z.ZodType<Found>, body: string | undefined): Found | undefined {
  if (body === undefined || body === '') return undefined;
  try {
    return schema.safeParse(JSON.parse(body)).data;
  } catch {
    return undefined;
  }
}

function qualityFrom(flag: number, value: number): Quality {
  const name = flags[flag]!;
  if (name === 'fail') return { flag: name, raw: value, why: '' };
  return name === 'missing' ? { flag: name, why: '' } : { flag: name, value };
}

function pageFrom(readings: readonly Reading[], boot: string, aheadMs: number): Page {
  const places = new Map<string, number>();
  const series: Series[] = [];
  const rows: Page['rows'] = [];
  for (const { series: of, timeMs, quality } of readings) {
    if (quality.flag === 'missing') continue;
    const key = `${of.system}\0${of.metric}\0${of.probe}`;
    const place = places.get(key) ?? series.push(of) - 1;
    places.set(key, place);
    rows.push([place, timeMs, flags.indexOf(quality.flag), quality.flag === 'fail' ? quality.raw : quality.value]);
  }
  return { boot, aheadMs, series, rows };
}

/**
 * Readings that wait for the clock, in documents of the store, so that they outlive a stop and a power cut.
 *
 * Within one boot of the machine its monotonic clock runs on over restarts of the hub: readings of an earlier run can be
 * dated exactly. A page that cannot be read is left out.
 *
 * @param boot     of the machine; undefined where it is not known, and then no other run is of the same one
 * @param aheadMs  what the room's time is ahead of the monotonic clock in this run
 */
export function undatedPages(
  store: Pick<Store, 'document' | 'commit'>,
  boot: string | undefined,
  aheadMs: number,
): { pages: UndatedPages; left: LeftOver[]; known: Answer | undefined } {
  const thisBoot = boot ?? '';
  const left: LeftOver[] = [];
  let pages = 0;
  // A page that was put aside as damaged leaves a gap of one.
  const isThere = (at: number) => store.document(pageName(at)) !== undefined;
  while (isThere(pages) || isThere(pages + 1)) {
    const found = parsed(page, store.document(pageName(pages)));
    pages += 1;
    if (found === undefined) continue;
    const readings = found.rows.flatMap(([place, timeMs, flag, value]) => {
      const series = found.series[place] as Series | undefined;
      return series === undefined ? [] : [{ series, timeMs, quality: qualityFrom(flag, value) }];
    });
    left.push({ readings, boot: found.boot, aheadMs: found.aheadMs });
  }
  /** So many are in use; those behind them are empty. */
  let used = left.length === 0 ? 0 : pages;
  const known = parsed(answer, store.document(answerName));

  return {
    left,
    known,
    pages: {
      hasPages: () => used > 0,
      write(readings, fromIndex, note) {
        const isWhole = fromIndex === 0 || used >= mostPages;
        const first = isWhole ? 0 : used;
        const documents: { name: string; body: string }[] = [];
        for (let at = isWhole ? 0 : fromIndex; at < readings.length; at += readingsOfAPage) {
          const body = JSON.stringify(pageFrom(readings.slice(at, at + readingsOfAPage), thisBoot, aheadMs));
          documents.push({ name: pageName(first + documents.length), body });
        }
        const next = first + documents.length;
        for (let empty = next; empty < used; empty += 1) documents.push({ name: pageName(empty), body: '' });
        if (isWhole) documents.push({ name: answerName, body: '' });
        store.commit({ documents, entries: note === undefined ? [] : [written(entryOf(note))] });
        used = next;
      },
      answer(trueAheadMs) {
        const body = JSON.stringify({ boot: thisBoot, aheadMs: trueAheadMs });
        store.commit({ documents: [{ name: answerName, body }] });
      },
    },
  };
}

function entryOf({ text, atMs, readings }: UndatedNote): NewEntry<'note'> {
  const body = { event: 'readings_undated', note: text, readings };
  return { kind: 'note', timeMs: atMs, recordedMs: atMs, system: '', body };
}
