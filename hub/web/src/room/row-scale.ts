import { hourMs } from '#rules/clock/durations.ts';
import type { MetricView } from '../../../api/room.ts';

export const pastHours = 24;
export const aheadHours = 48;
export const plotWidth = 720;
export const plotHeight = 88;
/** The band is the middle half of every row, whatever its unit. */
export const bandTop = plotHeight * 0.25;
export const bandBottom = plotHeight * 0.75;
/** Where now is: a third has been, two thirds are to come. */
export const nowX = (plotWidth * pastHours) / (pastHours + aheadHours);

export type Scale = { x(timeMs: number): number; y(value: number): number };

/** The scale that all rows share: hours across, and up and down the distance to the band. */
export function scaleOf(metric: MetricView, nowMs: number): Scale {
  const values = [
    ...metric.day.flatMap((point) => [point.min, point.max]),
    ...metric.tests.map((test) => test.value),
    ...(metric.value === null ? [] : [metric.value]),
  ];
  const low = metric.band?.low ?? Math.min(...values);
  const high = metric.band?.high ?? Math.max(...values);
  const span = high - low || 1;
  return {
    x: (timeMs) => nowX + ((timeMs - nowMs) / ((pastHours + aheadHours) * hourMs)) * plotWidth,
    // Beyond the row a value is drawn at its edge; the number beside it says how far it really is.
    y: (value) => Math.min(plotHeight - 2, Math.max(2, bandBottom - ((value - low) / span) * (bandBottom - bandTop))),
  };
}
