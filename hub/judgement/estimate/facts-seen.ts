import type { Store } from '#adapters/ports/store.ts';
import type { Band } from '#rules/bands/watched-room.ts';
import { minuteMs } from '#rules/clock/durations.ts';

/** Ages, minutes, at which a reading begins to count for less or not at all, roughly: what lies between them changes nothing. */
const agesMinutes = [10, 60, 6 * 60, 24 * 60];
/** The salinity of a probe is that of some minutes: while they come in, each counts. */
const firstMinutes = 10;

/**
 * What the readings of the systems are to advice, put in a word that changes when advice should be looked at again: for each
 * series whether its last reading is sound, how stale it is, in the first minutes after a silence how many came in, and of a salinity
 * whether it is in its band.
 *
 * @param bandOf  of the salinity of a system
 */
export function createFactsSeen(
  store: Pick<Store, 'series' | 'latest'>,
  bandOf: (system: string) => Pick<Band, 'low' | 'high'> | undefined,
): (system: string, nowMs: number) => string {
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
        const isLeft = series.metric === 'salinity' && isOutside(latest?.value, bandOf(system));
        return `${name} ${latest?.flag ?? 'none'} ${isLeft ? 'outside' : ''} ${stage} ${Math.min(firstMinutes, Math.floor(heardMinutes))}`;
      })
      .join(';');
}

function isOutside(value: number | undefined, band: Pick<Band, 'low' | 'high'> | undefined): boolean {
  return value !== undefined && band !== undefined && (value < band.low || value > band.high);
}
