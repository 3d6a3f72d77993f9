import type { Reading, Series } from '#rules/quality/reading.ts';
import { liveValue } from '../live/live-clients.ts';

export type Reason = { time: number; flag: string; why: string };

export type LastReasons = {
  remember(readings: readonly Reading[]): void;
  of(series: Series): Reason | undefined;
};

function seriesKey(series: Series): string {
  return `${series.system}\0${series.metric}\0${series.probe}`;
}

/** The store keeps numbers; why there is none is remembered for the page, one line for each series. */
export function createLastReasons(): LastReasons {
  const reasons = new Map<string, Reason>();
  return {
    remember(readings) {
      for (const reading of readings) {
        const { value, time, flag, why } = liveValue(reading);
        const key = seriesKey(reading.series);
        if (value === null) reasons.set(key, { time, flag, why: why ?? '' });
        else reasons.delete(key);
      }
    },
    of: (series) => reasons.get(seriesKey(series)),
  };
}
