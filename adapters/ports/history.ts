import type { Metric } from '#rules/quantity/metric.ts';

/** One metric of one system of one hub over [fromMs, toMs), in intervals of `stepMs` that begin at its multiples. */
export type HistoryAsked = {
  hub: string;
  system: string;
  metric: Metric;
  fromMs: number;
  toMs: number;
  stepMs: number;
};

/**
 * One interval that begins at `timeMs`, in the metric's store unit: least, mean and greatest, so that no spike is hidden.
 * Failed readings are not among them; `isDoubtful` when one failed or was suspect.
 */
export type HistoryPoint = {
  timeMs: number;
  min: number;
  mean: number;
  max: number;
  count: number;
  isDoubtful: boolean;
};

/** Of one probe; oldest first. */
export type HistoryCurve = { probe: string; points: HistoryPoint[] };

/** `away`: no answer, or not in time. `refused`: it answers, and says no. `unread`: its answer is none that we know. */
export type HistoryAnswer =
  | { ok: true; curves: HistoryCurve[] }
  | { ok: false; kind: 'away' | 'refused' | 'unread'; detail: string };

/** Reads back what hubs have mirrored into a time-series server. Never throws. */
export type HistoryReader = { read(asked: HistoryAsked, signal: AbortSignal): Promise<HistoryAnswer> };
