import * as z from 'zod';
import type { Store } from '#adapters/ports/store.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import type { BandSpan } from '../../api/series.ts';
import type { Config } from '../../model/config/schema.ts';

const documentName = 'band-history';
/** Of one metric of one system; the oldest are let go. */
const mostChanges = 200;

/** The band from a time on, in the metric's store unit; without edges where there was none. */
const changeSchema = z.object({ fromMs: z.number(), low: z.number().nullable(), high: z.number().nullable() });
const historySchema = z.record(z.string(), z.array(changeSchema));

type Change = z.infer<typeof changeSchema>;

export type BandHistory = {
  /** The bands of a metric in [fromMs, toMs), oldest first. */
  of(system: string, metric: Metric, fromMs: number, toMs: number): BandSpan[];
};

/**
 * Remembers when a band of the configuration became another. Each band is compared with the last kept one at the start, and
 * whenever somebody asks; a change is dated when the hub first sees it.
 *
 * Is: on disk when it is told. Is not: a record of changes that were taken back while the hub did not run, or a reason not to
 * start; what cannot be read of an old record is left as it is, and the band of now then stands for all time.
 */
export function createBandHistory(
  config: Pick<Config, 'systems'>,
  store: Pick<Store, 'commit' | 'document'>,
  now: () => number,
): BandHistory {
  let history = readHistory(store.document(documentName));
  let isUnkept = false;

  function note(): void {
    const nowMs = now();
    let isChanged = false;
    for (const system of config.systems) {
      for (const metric of metrics) {
        const key = `${system.id}/${metric}`;
        const band = system.bands[metric];
        const last = history?.[key]?.at(-1);
        if (band === undefined && last === undefined) continue;
        if ((band?.low ?? null) === (last?.low ?? null) && (band?.high ?? null) === (last?.high ?? null)) continue;
        const change: Change = { fromMs: nowMs, low: band?.low ?? null, high: band?.high ?? null };
        history = { ...history, [key]: [...(history?.[key] ?? []), change].slice(-mostChanges) };
        isChanged = true;
      }
    }
    if (!isChanged && !isUnkept) return;
    try {
      store.commit({ documents: [{ name: documentName, body: JSON.stringify(history) }] });
      isUnkept = false;
    } catch {
      // A full disk is told by the store itself; the change is kept with the next question.
      isUnkept = true;
    }
  }

  // A history that is there and cannot be read must not be written over.
  const isReadable = history !== undefined;
  if (isReadable) note();

  return {
    of(system, metric, fromMs, toMs) {
      if (isReadable) note();
      const band = config.systems.find(({ id }) => id === system)?.bands[metric];
      const known = history?.[`${system}/${metric}`] ?? [];
      const changes = known.length > 0 ? known : [{ fromMs: 0, low: band?.low ?? null, high: band?.high ?? null }];
      return changes.flatMap((change, index): BandSpan[] => {
        // Before the first that is known, the first one is the best guess.
        const from = Math.max(fromMs, index === 0 ? fromMs : change.fromMs);
        const to = Math.min(toMs, changes[index + 1]?.fromMs ?? toMs);
        return to > from ? [{ from, to, low: change.low, high: change.high }] : [];
      });
    },
  };
}

function readHistory(body: string | undefined): Record<string, Change[]> | undefined {
  if (body === undefined) return {};
  try {
    const read = historySchema.safeParse(JSON.parse(body));
    return read.success ? read.data : undefined;
  } catch {
    return undefined;
  }
}
