import type { Store } from '#adapters/ports/store.ts';

const minuteMs = 60_000;
/** Ages, minutes, at which a reading begins to count for less or not at all, roughly: what lies between them changes nothing. */
const agesMinutes = [10, 60, 6 * 60, 24 * 60];
/** The salinity of a probe is that of some minutes: while they come in, each counts. */
const firstMinutes = 10;

/**
 * What the readings of the systems are to advice, put in a word that changes when advice should be looked at anew: for each
 * series whether its last reading is sound, how stale it is, and in the first minutes after a silence how many came in.
 */
export function createFactsSeen(store: Pick<Store, 'series' | 'latest'>): (system: string, nowMs: number) => string {
  /** Since when a series has been heard without an hour of silence. */
  const heardSince = new Map<string, number>();
  return (system, nowMs) =>
    store
      .series()
      .filter((series) => series.system === system)
      .map((series) => {
        const name = `${series.metric} ${series.probe}`;
        const key = `${system}\0${name}`;
        const latest = store.latest(series);
        const ageMinutes = latest === undefined ? Number.POSITIVE_INFINITY : (nowMs - latest.timeMs) / minuteMs;
        const stage = agesMinutes.filter((age) => ageMinutes > age).length;
        if (stage > 1) heardSince.delete(key);
        else if (!heardSince.has(key)) heardSince.set(key, nowMs);
        const heardMinutes = (nowMs - (heardSince.get(key) ?? nowMs)) / minuteMs;
        return `${name} ${latest?.flag ?? 'none'} ${stage} ${Math.min(firstMinutes, Math.floor(heardMinutes))}`;
      })
      .join(';');
}
