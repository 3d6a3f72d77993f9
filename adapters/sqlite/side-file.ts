import { closeSync, fstatSync, ftruncateSync, openSync, readFileSync, rmSync, statSync, writeSync } from 'node:fs';
import { crc32 } from 'node:zlib';
import { type Flag, flagNumber, type Reading, type Series } from '#rules/quality/reading.ts';
import { isMetric } from '#rules/quantity/metric.ts';
import { type KeepableReading, keptFrom, readingFrom, seriesKey } from './write-buffer.ts';

/** While the disk refuses a flush, nothing empties it. So much holds more readings than the memory keeps, bytes. */
const mostBytes = 32 * 1024 * 1024;

const flagOf = new Map<number, Flag>(Object.entries(flagNumber).map(([flag, number]) => [number, flag as Flag]));

export function sideFileOf(storePath: string): string {
  return `${storePath}-unflushed`;
}

/**
 * The readings that wait for the next flush, once more, in a plain file beside the store: when the process is killed the system
 * still has them. A flush empties it.
 *
 * Is: written before the turn of the event loop is over in which a reading came, and so before it is acknowledged to
 * anybody. Is not: synced, and so not safe from a power cut; needed: where it cannot be written, the store works without.
 *
 * Beside them stands what was delivered since and is still in the outbox.
 *
 * Its lines: `+ number [system, metric, probe]` names a series, `number time value flag` is a reading, `- id` an item of the outbox
 * that was delivered, and `= checksum` ends what was written at once and holds the CRC-32 of it.
 */
export function sideFile(path: string) {
  const numbers = new Map<string, number>();
  let lines = '';
  let bytes = 0;
  let file: number | undefined;
  let isHeld = false;

  function opened(): number {
    if (file === undefined) {
      file = openSync(path, 'a', 0o600);
      // What an earlier process began and did not end must not become one with what follows.
      bytes += writeSync(file, '\n= \n');
    }
    return file;
  }

  function write(): void {
    const text = lines;
    lines = '';
    if (text === '') return;
    try {
      if (bytes > mostBytes) throw new RangeError('full');
      bytes += writeSync(opened(), `${text}= ${crc32(text).toString(16)}\n`);
    } catch {
      // The flush reports a disk that takes nothing. The names of series may have been in it.
      numbers.clear();
    }
  }

  /** All that comes in one turn is written at once: a call of the system for each reading is dear in a flood. */
  function soon(): void {
    if (lines === '') queueMicrotask(write);
  }

  function numberOf(series: Series): number {
    const key = seriesKey(series);
    const known = numbers.get(key);
    if (known !== undefined) return known;
    const number = numbers.size;
    numbers.set(key, number);
    lines += `+ ${number} ${JSON.stringify([series.system, series.metric, series.probe])}\n`;
    return number;
  }

  return {
    /** What an earlier process left, oldest first; what was torn or has changed is left out. */
    left(): Left {
      let content: Buffer;
      try {
        content = readFileSync(path);
      } catch {
        return { readings: [], delivered: [] };
      }
      bytes = content.length;
      return leftIn(content.toString('utf8'));
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
      numbers.clear();
      lines = '';
      if (bytes === 0) return;
      try {
        ftruncateSync(opened(), 0);
        bytes = 0;
      } catch {
        // What is left in it is in the store, and is not taken twice.
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
      if (file === undefined) return;
      const found = statSync(path, { throwIfNoEntry: false });
      if (found?.ino === fstatSync(file).ino) return;
      closeSync(file);
      file = undefined;
      bytes = 0;
      numbers.clear();
    },

    close(): void {
      write();
      if (file === undefined) return;
      closeSync(file);
      file = undefined;
      try {
        if (bytes === 0) rmSync(path, { force: true });
      } catch {
        // An empty file is in nobody's way.
      }
    },
  };
}

type Left = { readings: Reading[]; delivered: number[] };

function leftIn(text: string): Left {
  const found: Left = { readings: [], delivered: [] };
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
  return found;
}

/** One line whose checksum is right. */
function takeLine(line: string, series: Map<number, Series>, { readings, delivered }: Left): void {
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
