import type { JournalEntry, JournalQuery, KeptEntry, KeptReading, Store, Summary } from '#adapters/ports/store.ts';
import { dayMs, hourMs, minuteMs } from '#rules/clock/durations.ts';
import { flagNumber, type Reading, type Series } from '#rules/quality/reading.ts';

const intervalMs = { minute: minuteMs, hour: hourMs, day: dayMs };
type Interval = keyof typeof intervalMs;
/** As far back as anything looks: the estimator reads 150 days of entries, and the hours around its last salinity test. */
const keptDays: Record<Interval, number> = { minute: 2, hour: 150, day: 150 };

/** What estimates and advice use of a store. */
export type DiaryStore = Pick<Store, 'commit' | 'journal' | 'series' | 'latest' | 'summaries'> & {
  /** Readings must come in order of time; one that is missing has no value and is not kept. */
  add(reading: Reading): void;
};

type KeptSeries = { series: Series; latest: KeptReading; summaries: Record<Interval, Summary[]> };

/**
 * The store of a diary that is read once: all of it in memory, nothing on disk, gone with the process. Answers as the store
 * of a running hub does. Is not: able to correct or withdraw an entry, which the lines of a diary never do.
 */
export function createDiaryStore(): DiaryStore {
  const journal = new Map<string, KeptEntry[]>();
  const idByKey = new Map<string, number>();
  const streams = new Map<string, KeptSeries>();
  let lastId = 0;

  const listName = (system: string, kind: string): string => `${system}\0${kind}`;

  function append(entry: JournalEntry): number {
    const older = entry.key === undefined ? undefined : idByKey.get(entry.key);
    if (older !== undefined) return older;
    lastId += 1;
    if (entry.key !== undefined) idByKey.set(entry.key, lastId);
    const name = listName(entry.system, entry.kind);
    const entries = journal.get(name) ?? [];
    if (entries.length === 0) journal.set(name, entries);
    entries.splice(firstAt(entries, entry.timeMs + 1), 0, { ...entry, id: lastId });
    return lastId;
  }

  function listsFor({ id, key, system, kind }: JournalQuery): KeptEntry[][] {
    const wanted = key === undefined ? id : (idByKey.get(key) ?? 0);
    if (wanted !== undefined) return [[...journal.values()].flat().filter((entry) => entry.id === wanted)];
    if (system !== undefined && kind !== undefined) return [journal.get(listName(system, kind)) ?? []];
    const lists = [...journal.values()];
    return lists.filter(
      ([first]) => (system === undefined || first?.system === system) && (kind === undefined || first?.kind === kind),
    );
  }

  return {
    commit: ({ entries = [] }) => entries.map(append),
    journal<Read = KeptEntry>(query: JournalQuery, read?: (entry: KeptEntry) => Read | undefined): Read[] {
      const { fromMs = Number.NEGATIVE_INFINITY, toMs = Number.POSITIVE_INFINITY, limit } = query;
      const found = listsFor(query).map((list) => list.slice(firstAt(list, fromMs), firstAt(list, toMs)));
      const inOrder = found.length === 1 ? found[0]! : found.flat().sort((a, b) => a.timeMs - b.timeMs || a.id - b.id);
      if (query.order === 'newest') inOrder.reverse();
      const later = query.afterId === undefined ? inOrder : inOrder.filter(({ id }) => id > query.afterId!);
      const asked = later.slice(0, limit);
      // Without a reader the entries themselves are what is asked for.
      return read === undefined ? (asked as Read[]) : asked.flatMap((entry) => read(entry) ?? []);
    },
    series: () => [...streams.values()].map(({ series }) => series),
    latest: (series) => streams.get(streamName(series))?.latest,
    summaries(series, resolution, fromMs, toMs) {
      const all = streams.get(streamName(series))?.summaries[resolution] ?? [];
      return all.filter(({ startMs, count }) => count > 0 && startMs >= fromMs && startMs < toMs);
    },
    add({ series, timeMs, quality }) {
      if (quality.flag === 'missing') return;
      const value = quality.flag === 'fail' ? quality.raw : quality.value;
      const latest: KeptReading = { timeMs, value, flag: quality.flag };
      const kept = streams.get(streamName(series));
      const stream = kept ?? { series, latest, summaries: { minute: [], hour: [], day: [] } };
      if (kept === undefined) streams.set(streamName(series), stream);
      stream.latest = latest;
      for (const interval of ['minute', 'hour', 'day'] as const)
        summarise(stream.summaries[interval], interval, latest);
    },
  };
}

function streamName({ system, metric, probe }: Series): string {
  return `${system}\0${metric}\0${probe}`;
}

/** Where the entries of this time and later begin. */
function firstAt(entries: readonly KeptEntry[], timeMs: number): number {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle]!.timeMs < timeMs) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** As in the store: a failed value is counted by the worst flag alone, and an interval with nothing else has no summary. */
function summarise(summaries: Summary[], interval: Interval, { timeMs, value, flag }: KeptReading): void {
  const startMs = Math.floor(timeMs / intervalMs[interval]) * intervalMs[interval];
  const last = summaries.at(-1);
  const summary = last?.startMs === startMs ? last : emptySummary(startMs, flag);
  if (summary !== last) {
    const oldestMs = startMs - keptDays[interval] * dayMs;
    const firstKept = summaries.findIndex((each) => each.startMs >= oldestMs);
    summaries.splice(0, firstKept < 0 ? summaries.length : firstKept);
    summaries.push(summary);
  }
  if (flagNumber[flag] > flagNumber[summary.worst]) summary.worst = flag;
  if (flag === 'fail') return;
  summary.count += 1;
  summary.mean += (value - summary.mean) / summary.count;
  summary.min = Math.min(summary.min, value);
  summary.max = Math.max(summary.max, value);
}

function emptySummary(startMs: number, worst: KeptReading['flag']): Summary {
  return { startMs, count: 0, mean: 0, min: Number.POSITIVE_INFINITY, max: Number.NEGATIVE_INFINITY, worst };
}
