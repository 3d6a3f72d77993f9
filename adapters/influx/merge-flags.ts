import type { HistoryCurve, HistoryPoint } from '../ports/history.ts';

/** What a server answers for one interval of one probe and one flag. */
export type FlaggedPoint = { timeMs: number; min: number; mean: number; max: number; count: number };

/**
 * One curve for each probe, out of the answers for each of its flags: sound and suspect readings make the curve, failed
 * ones only mark it as doubtful, as in the hub's own summaries.
 */
export function mergeFlags(parts: readonly { probe: string; flag: string; points: FlaggedPoint[] }[]): HistoryCurve[] {
  const byProbe = new Map<string, { values: Map<number, HistoryPoint>; failed: Set<number> }>();
  for (const { probe, flag, points } of parts) {
    const own = byProbe.get(probe) ?? { values: new Map<number, HistoryPoint>(), failed: new Set<number>() };
    byProbe.set(probe, own);
    for (const point of points) {
      if (flag === 'fail') own.failed.add(point.timeMs);
      else own.values.set(point.timeMs, joined(own.values.get(point.timeMs), point, flag === 'suspect'));
    }
  }
  return [...byProbe]
    .map(([probe, { values, failed }]) => ({
      probe,
      points: [...values.values()]
        .map((point) => (failed.has(point.timeMs) ? { ...point, isDoubtful: true } : point))
        .toSorted((a, b) => a.timeMs - b.timeMs),
    }))
    .filter(({ points }) => points.length > 0)
    .toSorted((a, b) => (a.probe < b.probe ? -1 : 1));
}

function joined(before: HistoryPoint | undefined, point: FlaggedPoint, isDoubtful: boolean): HistoryPoint {
  if (before === undefined) return { ...point, isDoubtful };
  const count = before.count + point.count;
  return {
    timeMs: point.timeMs,
    min: Math.min(before.min, point.min),
    mean: (before.mean * before.count + point.mean * point.count) / count,
    max: Math.max(before.max, point.max),
    count,
    isDoubtful: before.isDoubtful || isDoubtful,
  };
}
