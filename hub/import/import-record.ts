import { createReadStream } from 'node:fs';
import { isDeepStrictEqual } from 'node:util';
import type { KeptEntry, Store } from '#adapters/ports/store.ts';
import type { RecordDraft } from '#adapters/ports/whole-record.ts';
import type { Series } from '#rules/quality/reading.ts';
import { Refused } from '../model/refusals/refused.ts';
import {
  countPart,
  headerSchema,
  type LinePart,
  mostLineBytes,
  noCounts,
  type RecordCounts,
  readLine,
  recordVersion,
} from './record-lines.ts';
import { wholeLines } from './whole-lines.ts';

const nothingTaken = 'Nothing was imported.';

/** In words: what a record holds. */
export function countWords(counts: RecordCounts): string {
  const { entries, documents, readings, minutes, hours, photos } = counts;
  return `${entries} entries, ${readings} readings, summaries of ${minutes} minutes and ${hours} hours, ${documents} documents, ${photos} photos`;
}

/**
 * The parts of a file, each checked for itself and against those before it: ids and times ascend, nothing comes twice, and the
 * last line counts the others.
 *
 * @throws Refused not_done  with the line, what was found and what is needed
 */
export async function* partsOfFile(path: string): AsyncGenerator<LinePart, RecordCounts, undefined> {
  const counts = noCounts();
  const order = orderCheck();
  const wrong = (number: number, what: string) =>
    new Refused('not_done', `${path} line ${number}: ${what}. ${nothingTaken}`);
  let isEnded = false;
  let last = 0;
  try {
    for await (const { number, text, isEnded: hasLineEnd } of wholeLines(createReadStream(path), mostLineBytes)) {
      last = number;
      if (number === 1) {
        checkHeader(path, text);
        continue;
      }
      if (isEnded) throw wrong(number, 'found a line after the last one, which counts the others');
      const part = readLine(text);
      // Half a line is no JSON: that the file was cut off says more.
      if (typeof part === 'string' && !hasLineEnd) break;
      if (typeof part === 'string') throw wrong(number, part);
      const disorder = order(part);
      if (disorder !== undefined) throw wrong(number, disorder);
      countPart(counts, part);
      if (part.part === 'end') {
        if (!isDeepStrictEqual(part.counts, counts))
          throw wrong(
            number,
            `found ${countWords(counts)}, need ${countWords(part.counts)}: lines are missing or repeated`,
          );
        isEnded = true;
      } else yield part;
    }
  } catch (error) {
    throw error instanceof RangeError ? new Refused('not_done', `${path}: ${error.message}. ${nothingTaken}`) : error;
  }
  if (last === 0) throw new Refused('not_done', `${path} is empty. ${nothingTaken}`);
  if (!isEnded)
    throw new Refused(
      'not_done',
      `${path} ends at line ${last} without its last line: it was cut off. Export it again. ${nothingTaken}`,
    );
  return counts;
}

/** @throws Refused not_done */
function checkHeader(path: string, text: string): void {
  let found: unknown;
  try {
    found = JSON.parse(text.slice(0, 4096));
  } catch {
    found = undefined;
  }
  const header = headerSchema.safeParse(found);
  if (!header.success)
    throw new Refused(
      'not_done',
      `${path} is not a whole record: need a file that brinekeep export --everything wrote. For a table name what its rows are, such as --as readings`,
    );
  const { version, program } = header.data;
  if (version > recordVersion)
    throw new Refused(
      'not_done',
      `${path} is a record of version ${version}, written by Brinekeep ${program}; this program reads version ${recordVersion}. Update this program first`,
    );
}

/** What is out of order in a part, given those before it. */
function orderCheck(): (part: LinePart) => string | undefined {
  let lastId = 0;
  const names = new Set<string>();
  const newest = new Map<string, number>();
  const keys = new Set<string>();

  function ascending(stream: string, times: readonly number[]): string | undefined {
    let last = newest.get(stream) ?? Number.NEGATIVE_INFINITY;
    for (const timeMs of times) {
      if (timeMs <= last) return `found a time that is not after the one before it in the same series`;
      last = timeMs;
    }
    newest.set(stream, last);
    return undefined;
  }

  return (part) => {
    if (part.part === 'entry') {
      const { id, key } = part.entry;
      if (id <= lastId) return `found entry ${id} after entry ${lastId}`;
      lastId = id;
      if (key !== undefined && keys.size === keys.add(key).size) return `found the key of another entry`;
    } else if (part.part === 'document' || part.part === 'photo') {
      if (names.size === names.add(`${part.part} ${part.name}`).size) return `found ${part.name} twice`;
    } else if (part.part === 'readings') {
      return ascending(
        streamOf(part.series, 'readings'),
        part.readings.map(({ timeMs }) => timeMs),
      );
    } else if (part.part === 'tallies') {
      return ascending(
        streamOf(part.series, part.resolution),
        part.tallies.map(({ startMs }) => startMs),
      );
    }
    return undefined;
  };
}

function streamOf({ system, metric, probe }: Series, what: string): string {
  return [what, system, metric, probe].join('\0');
}

/** Into a draft of a store, and photos to where `putPhoto` has them. @returns what there was, and the systems it is of */
export async function draftFromFile(
  path: string,
  draft: Pick<RecordDraft, 'put'>,
  putPhoto: (name: string, bytes: Buffer) => Promise<void>,
): Promise<{ counts: RecordCounts; systems: Set<string> }> {
  const systems = new Set<string>();
  const parts = partsOfFile(path);
  for (let next = await parts.next(); ; next = await parts.next()) {
    if (next.done === true) return { counts: next.value, systems };
    const part = next.value;
    if (part.part === 'readings') systems.add(part.series.system);
    if (part.part === 'photo') await putPhoto(part.name, part.bytes);
    else if (part.part !== 'end') draft.put(part);
  }
}

/**
 * Whether a store has the whole record of a file already: each entry as it is there, and each reading but those that are older
 * than what it keeps raw. Documents are the hub's state, which goes on.
 *
 * @returns what is not the same, in words; undefined when it has all
 */
export async function differenceFrom(
  path: string,
  store: Pick<Store, 'journal' | 'readings'>,
): Promise<string | undefined> {
  const oldest = new Map<string, number>();
  const oldestOf = (series: Series) => {
    const key = streamOf(series, 'readings');
    const known = oldest.get(key) ?? store.readings(series, 0, Number.MAX_SAFE_INTEGER, 1)[0]?.timeMs;
    if (known !== undefined) oldest.set(key, known);
    return known;
  };
  let difference: string | undefined;
  for await (const part of partsOfFile(path)) {
    if (difference !== undefined) continue;
    if (part.part === 'entry') difference = entryDifference(part.entry, store);
    else if (part.part === 'readings') {
      const { series, readings } = part;
      const oldestMs = oldestOf(series);
      const has = new Set(
        store.readings(series, readings[0]!.timeMs, readings.at(-1)!.timeMs + 1).map(({ timeMs }) => timeMs),
      );
      const missing = readings.find(({ timeMs }) => oldestMs === undefined || (timeMs >= oldestMs && !has.has(timeMs)));
      if (missing !== undefined)
        difference = `it has no reading of ${series.system} ${series.metric} at ${new Date(missing.timeMs).toISOString()}`;
    }
  }
  return difference;
}

function entryDifference(entry: KeptEntry, store: Pick<Store, 'journal'>): string | undefined {
  const [there] = store.journal({ id: entry.id, history: true });
  if (there === undefined) return `it has no entry ${entry.id}`;
  return isDeepStrictEqual(there, entry) ? undefined : `its entry ${entry.id} differs`;
}
