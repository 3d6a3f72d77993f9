import type { MetricView } from '../../../api/room.ts';
import type { ChartData, Span } from './chart-data.ts';

export const left = 56;
/** Where the scale of a second metric stands. */
const rightWithScale = 60;
const rightBare = 8;
const topBare = 10;
/** Above the plot, where a second metric is laid over: which line is which, one below the other so that no name is cut. */
export const legendLine = 20;
/** Below the plot: what happened, and the times. */
export const laneHeight = 18;
export const axisHeight = 24;

/** A chart that fills a wall is read from further away. @returns CSS pixels */
export function textSizeOf(width: number): number {
  return width >= 1200 ? 16 : 12;
}

export type Frame = {
  x(timeMs: number): number;
  timeAt(x: number): number;
  y(value: number): number;
  /** The scale of the metric that is laid over. */
  yOver(value: number): number;
  top: number;
  bottom: number;
  /** Width of what is kept free to the right of the plot. */
  right: number;
};

export type Look = (name: string) => string;

type Drawn = Pick<ChartData, 'points' | 'stepMs' | 'marks' | 'estimated' | 'bands'> & {
  singles?: ChartData['singles'];
};

function rangeOf(metric: MetricView, data: Drawn, shown: Span): { low: number; high: number } {
  const values: number[] = [];
  const isShown = (time: number) => time >= shown.from && time <= shown.to;
  for (const { from, to, low, high } of data.bands)
    if (to > shown.from && from < shown.to && low !== null && high !== null) values.push(low, high);
  for (const point of data.points) {
    // The interval reaches `stepMs` further than its time: a spike at the edge of the view counts as well.
    if (point.time + data.stepMs >= shown.from && point.time <= shown.to) values.push(point.min, point.max);
  }
  for (const mark of data.marks)
    if (mark.kind === 'test' && mark.value !== undefined && isShown(mark.time))
      values.push(mark.value - 2 * (mark.sd ?? 0), mark.value + 2 * (mark.sd ?? 0));
  for (const point of data.estimated) if (isShown(point.time)) values.push(point.low, point.high);
  for (const { time, value } of data.singles?.readings ?? []) if (isShown(time)) values.push(value);
  if (values.length === 0) return { low: 0, high: 1 };
  const low = values.reduce((a, b) => Math.min(a, b));
  const high = values.reduce((a, b) => Math.max(a, b));
  const room = (high - low) * 0.08 || 10 ** -metric.decimals;
  return { low: low - room, high: high + room };
}

export function frameOf(metric: MetricView, data: ChartData, shown: Span, width: number, height: number): Frame {
  const bottom = height - axisHeight - laneHeight * 2;
  const right = data.over === undefined ? rightBare : rightWithScale;
  const top = data.over === undefined ? topBare : topBare + 2 * legendLine;
  const perMs = (width - left - right) / (shown.to - shown.from);
  const scale = ({ low, high }: { low: number; high: number }) => {
    return (value: number) => bottom - ((value - low) / (high - low)) * (bottom - top);
  };
  return {
    x: (timeMs) => left + (timeMs - shown.from) * perMs,
    timeAt: (x) => shown.from + (x - left) / perMs,
    y: scale(rangeOf(metric, data, shown)),
    yOver:
      data.over === undefined ? () => bottom : scale(rangeOf(data.over.metric, { ...data.over, bands: [] }, shown)),
    top,
    bottom,
    right,
  };
}

export function valueAt(scale: (value: number) => number, y: number): number {
  const [at0, at1] = [scale(0), scale(1)];
  return (y - at0) / (at1 - at0);
}

const leastTickPx = 48;

/** So many steps of the scale fit beside the plot at the most. */
export function ticksIn({ top, bottom }: Frame): number {
  return Math.max(2, Math.floor((bottom - top) / leastTickPx));
}
