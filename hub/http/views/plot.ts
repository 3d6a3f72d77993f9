import type { Summary } from '#adapters/ports/store.ts';
import type { PlotPoint } from '../../api/series.ts';

/**
 * Min and max of each interval, so that no spike is hidden.
 *
 * @param summaries  oldest first, of one stream
 * @param bucketMs  width of an interval
 */
export function plotOf(summaries: readonly Summary[], bucketMs: number): PlotPoint[] {
  const points: PlotPoint[] = [];
  for (const summary of summaries) {
    if (!Number.isFinite(summary.min) || !Number.isFinite(summary.max)) continue;
    const time = Math.floor(summary.startMs / bucketMs) * bucketMs;
    const isDoubtful = summary.worst === 'suspect' || summary.worst === 'fail';
    const last = points.at(-1);
    if (last?.time === time) {
      last.min = Math.min(last.min, summary.min);
      last.max = Math.max(last.max, summary.max);
      if (isDoubtful) last.doubtful = true;
    } else points.push({ time, min: summary.min, max: summary.max, ...(isDoubtful ? { doubtful: true } : {}) });
  }
  return points;
}
