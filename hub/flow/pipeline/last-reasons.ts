import type { Reading, Series } from '#rules/quality/reading.ts';

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
      for (const { series, timeMs, quality } of readings) {
        const { flag } = quality;
        if (flag === 'missing' || flag === 'fail')
          reasons.set(seriesKey(series), { time: timeMs, flag, why: quality.why });
        // Nearly always all is well, and then no name has to be made.
        else if (reasons.size > 0) reasons.delete(seriesKey(series));
      }
    },
    of: (series) => reasons.get(seriesKey(series)),
  };
}
