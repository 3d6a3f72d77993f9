import type { MetricView } from '../../http/room-view.ts';

/** A value as a person reads it, without its unit. */
export function valueText(metric: Pick<MetricView, 'decimals'>, value: number): string {
  return value.toFixed(metric.decimals);
}

/** An age in the largest unit that says enough. */
export function ageText(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 60) return `${seconds} s ago`;
  if (seconds < 3600) return `${Math.round(seconds / 60)} min ago`;
  if (seconds < 172_800) return `${Math.round(seconds / 3600)} h ago`;
  return `${Math.round(seconds / 86_400)} days ago`;
}

export type RowState = 'inside' | 'outside' | 'doubtful' | 'stale' | 'unknown';

const staleAfterMs = 5 * 60_000;

/** What a row's value is worth. A test is not stale by the minute: tests come by the day. */
export function stateOf(metric: MetricView, nowMs: number): RowState {
  if (metric.value === null || metric.time === null) return 'unknown';
  if (metric.probe !== null && nowMs - metric.time > staleAfterMs) return 'stale';
  if (metric.flag === 'suspect' || metric.flag === 'fail') return 'doubtful';
  if (metric.band === null) return 'inside';
  return metric.value < metric.band.low || metric.value > metric.band.high ? 'outside' : 'inside';
}

/** The state in words: colour and shape never stand alone. */
export function stateWords(metric: MetricView, nowMs: number): string {
  switch (stateOf(metric, nowMs)) {
    case 'unknown':
      return metric.why ?? 'no value';
    case 'stale':
      return `silent, last ${ageText(nowMs - (metric.time ?? 0))}`;
    case 'doubtful':
      return metric.why === null ? 'doubtful' : `doubtful: ${metric.why}`;
    case 'outside':
      return metric.band !== null && (metric.value ?? 0) > metric.band.high ? 'above its band' : 'below its band';
    default:
      return metric.band === null ? 'no band set' : 'in its band';
  }
}
