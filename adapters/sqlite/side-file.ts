import { closeSync, fstatSync, ftruncateSync, openSync, readFileSync, rmSync, statSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { type Flag, flagNumber, type Reading, type Series } from '#rules/quality/reading.ts';
import { isMetric } from '#rules/quantity/metric.ts';
import type { Runs } from './run-mark.ts';
import { type KeepableReading, keptFrom, readingFrom, seriesKey } from './write-buffer.ts';

/** While the disk refuses a flush, nothing empties it. So much holds more readings than the memory keeps, bytes. */
const mostBytes = 32 * 1024 * 1024;

const flagOf = new Map<number, Flag>(Object.entries(flagNumber).map(([flag, number]) => [number, flag as Flag]));

export function sideFileOf(storePath: string): string {
  return `${storePath}-unflushed`;
}

/** The file of one store in a folder that several may use. */
export function sideFileIn(folder: string, storeId: string): string {
  return join(folder, `${storeId}-unflushed`);
}

/**
 * The readings that wait for the next flush, once more, in a plain file: when the process is killed the system still has them. A flush
 * empties it. It lies in memory where the service manager gives a folder for that, since what is never synced is written to the card
 * after half a minute all the same; else beside the store.
 *
 * Is: written before the turn of the event loop is over in which a reading came, and so before it is acknowledged to
 * anybody. Is not: synced, and so not safe from a power cut; needed: where it cannot be written, the store works without.
 *
 * Beside them stands what was delivered since and is still in the outbox. An id of the outbox is given again once its item is gone, so
 * these are believed only where no other process has written to the store since. Readings are known by their time in any case.
 *
 * Its lines: `* run before` who writes from here on, and whom that one followed; `+ number [system, metric, probe]` names a series,
 * `number time value flag` is a reading, `- id` an item of the outbox that was delivered, and `= checksum` ends what was written at once
 * and holds the CRC-32 of it.
 *
 * @param places  where it lies; a further one where those before cannot be written
 */
export function sideFile(places: readonly string[], { run, before }: Runs) {
  const names = new Map<string, { number: number; name: string }>();
  let lines = '';
  let bytes = 0;
  let open: { file: number; path: string } | undefined;
  /** Whether what the file has since it was opened or emptied begins with who writes it. */
  let isHeaded = false;
  /** Have something that a flush makes needless. */
  const filled = new Set<string>();
  /** Until a flush, after which all begins anew. */
  const failed = new Set<string>();
  let isHeld = false;

  function closeFile(): void {
    if (open !== undefined) closeSync(open.file);
    open = undefined;
  }

  function opened(path: string): number {
    if (open?.path !== path) {
      closeFile();
      open = { file: openSync(path, 'a', 0o600), path };
      bytes = fstatSync(open.file).size;
      isHeaded = false;
    }
    return open.file;
  }

  function append(path: string, text: string): void {
    const file = opened(path);
    const known = [...names.values()].map(({ number, name }) => `+ ${number} ${name}\n`);
    const all = isHeaded ? text : `* ${run} ${before ?? ''}\n${known.join('')}${text}`;
    // What an earlier process began and did not end must not become one with what follows.
    const torn = isHeaded || bytes === 0 ? '' : '\n= \n';
    const content = Buffer.from(`${torn}${all}= ${crc32(all).toString(16)}\n`);
    filled.add(path);
    const written = writeSync(file, content);
    bytes += written;
    if (written < content.length) throw new RangeError('full');
    isHeaded = true;
  }

  function writeText(text: string): void {
    if (bytes > mostBytes) return;
    for (const path of places) {
      if (failed.has(path)) continue;
      try {
        append(path, text);
        return;
      } catch {
        // The flush reports a disk that takes nothing.
        failed.add(path);
        closeFile();
        bytes = 0;
      }
    }
  }

  function write(): void {
    const text = lines;
    lines = '';
    if (text !== '') writeText(text);
  }

  /** All that comes in one turn is written at once: a call of the system for each reading is dear in a flood. */
  function soon(): void {
    if (lines === '') queueMicrotask(write);
  }

  function numberOf(series: Series): number {
    const key = seriesKey(series);
    const known = names.get(key);
    if (known !== undefined) return known.number;
    const added = { number: names.size, name: JSON.stringify([series.system, series.metric, series.probe]) };
    names.set(key, added);
    lines += `+ ${added.number} ${added.name}\n`;
    return added.number;
  }

  return {
    /** What earlier processes left; what was torn or has changed is left out. */
    left(): Left {
      const all: Left = { readings: [], delivered: [] };
      for (const path of places) {
        const content = contentOf(path);
        if (content === undefined) continue;
        filled.add(path);
        const { readings, delivered } = leftIn(content, before);
        all.readings.push(...readings);
        all.delivered.push(...delivered);
      }
      // A kill before the first flush leaves all of it once more.
      if (filled.size > 0) writeText('');
      return all;
    },

    add(reading: KeepableReading): void {
      soon();
      const number = numberOf(reading.series);
      const { timeMs, value, flag } = keptFrom(reading);
      lines += `${number} ${timeMs} ${value} ${flagNumber[flag]}\n`;
    },

    delivered(ids: readonly number[]): void {
      soon();
      for (const id of ids) lines += `- ${id}\n`;
    },

    /** All that it holds is on disk in the store. */
    empty(): void {
      if (isHeld) return;
      names.clear();
      failed.clear();
      lines = '';
      for (const path of filled) {
        try {
          if (open?.path === path) {
            ftruncateSync(open.file, 0);
            bytes = 0;
            isHeaded = false;
          } else rmSync(path, { force: true });
          filled.delete(path);
        } catch {
          // What is left in it is in the store, and is not taken twice.
        }
      }
    },

    /** What is flushed from now on is not safe in the store: it stays here too. */
    hold(): void {
      isHeld = true;
    },
    release(): void {
      isHeld = false;
      this.empty();
    },

    /** Where its name was taken away, after a flush: what was in it is in the store. */
    reopenIfGone(): void {
      if (open === undefined) return;
      const found = statSync(open.path, { throwIfNoEntry: false });
      if (found?.ino !== fstatSync(open.file).ino) closeFile();
    },

    close(): void {
      write();
      const path = open?.path;
      closeFile();
      try {
        if (path !== undefined && !filled.has(path)) rmSync(path, { force: true });
      } catch {
        // An empty file is in nobody's way.
      }
    },
  };
}

/** Undefined where there is none. */
function contentOf(path: string): string | undefined {
  try {
    const content = readFileSync(path, 'utf8');
    return content === '' ? undefined : content;
  } catch {
    return undefined;
  }
}

type Left = { readings: Reading[]; delivered: number[] };
type Found = Left & { run: string | undefined };

/** @param before  who wrote to the store last; else what was delivered belongs to an earlier time of it */
function leftIn(text: string, before: string | undefined): Left {
  const found: Found = { readings: [], delivered: [], run: undefined };
  const series = new Map<number, Series>();
  let written: string[] = [];
  for (const line of text.split('\n')) {
    if (!line.startsWith('= ')) {
      written.push(`${line}\n`);
      continue;
    }
    if (crc32(written.join('')) === Number.parseInt(line.slice(2), 16)) {
      for (const one of written) takeLine(one, series, found);
    }
    written = [];
  }
  return { readings: found.readings, delivered: found.run === before ? found.delivered : [] };
}

/** One line whose checksum is right. */
function takeLine(line: string, series: Map<number, Series>, found: Found): void {
  const { readings, delivered } = found;
  if (line.startsWith('* ')) {
    const [, run, followed] = line.trimEnd().split(' ');
    if (followed !== found.run) found.delivered = [];
    found.run = run;
    return;
  }
  if (line.startsWith('- ')) {
    delivered.push(Number(line.slice(2)));
    return;
  }
  if (line.startsWith('+ ')) {
    const [, number = ''] = line.split(' ', 2);
    const [system, metric, probe] = JSON.parse(line.slice(`+ ${number} `.length)) as [string, string, string];
    // A metric of a later version is nothing to this one.
    if (isMetric(metric)) series.set(Number(number), { system, metric, probe });
    else series.delete(Number(number));
    return;
  }
  const [number, timeMs, value, flag] = line.split(' ').map(Number) as [number, number, number, number];
  const of = series.get(number);
  const word = flagOf.get(flag);
  if (of !== undefined && word !== undefined) readings.push(readingFrom(of, { timeMs, value, flag: word }));
}

export type SideFile = ReturnType<typeof sideFile>;
