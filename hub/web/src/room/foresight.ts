import { hourMs } from '#rules/clock/durations.ts';
import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import type { MetricView, SystemView } from '../../../api/room.ts';
import { stateOf, suddenWords } from '../kit/words.ts';

/** Why a row stands where it stands, the most urgent first. */
const orders = ['outside', 'leaving', 'unheard', 'doubtful', 'unsure', 'steady', 'unbanded'] as const;
export type Order = (typeof orders)[number];
export type Foresight = { order: Order; at: number };

/** What is computed from another row, or shown by one in other words, and is watched by no band of its own. */
const derived = new Set([
  'conductivity',
  'specific_conductance_25',
  'specific_gravity',
  'pco2',
  'aragonite_saturation',
]);

export function foresee(metric: MetricView, nowMs: number): Foresight {
  const state = stateOf(metric, nowMs);
  const { outlook, band } = metric;
  if (state === 'outside') return { order: 'outside', at: nowMs };
  if (state === 'stale' || (state === 'unknown' && metric.probe !== null)) return { order: 'unheard', at: nowMs };
  // What nobody has tested so far is neither steady nor silent.
  if (state === 'unknown') return { order: 'unbanded', at: Infinity };
  if (state === 'doubtful') return { order: 'doubtful', at: nowMs };
  if (outlook?.leavesAt != null) return { order: 'leaving', at: outlook.leavesAt };
  if (band === null) return { order: 'unbanded', at: Infinity };
  if (suddenWords(metric) !== undefined) return { order: 'unsure', at: nowMs };
  if (outlook?.mayLeaveAt != null) return { order: 'unsure', at: outlook.mayLeaveAt };
  return { order: 'steady', at: Infinity };
}

/** Share of the half band between the value and the nearer edge: the tie-breaker of rows that all stay. */
function room(metric: MetricView): number {
  if (metric.band === null || metric.value === null) return Infinity;
  const { low, high } = metric.band;
  return Math.min(metric.value - low, high - metric.value) / (high - low);
}

export type Rows = { first: MetricView[]; folded: MetricView[] };

/** The rows by time to leave the band; what only repeats another row is folded away. */
export function rowsOf(metrics: readonly MetricView[], nowMs: number): Rows {
  const ranked = metrics.map((metric) => ({ metric, ...foresee(metric, nowMs) }));
  ranked.sort(
    (a, b) =>
      orders.indexOf(a.order) - orders.indexOf(b.order) ||
      (a.at === b.at ? room(a.metric) - room(b.metric) || 0 : a.at - b.at),
  );
  const isFolded = (metric: MetricView) => metric.band === null && derived.has(metric.metric);
  return {
    first: ranked.filter(({ metric }) => !isFolded(metric)).map(({ metric }) => metric),
    folded: ranked.filter(({ metric }) => isFolded(metric)).map(({ metric }) => metric),
  };
}

/** An urgency from here on needs nobody: no alarm, and at most unsure. */
const pressingBelow = 3000 + orders.indexOf('unsure') * 100;

/** How urgent a system is, for the order on a wall of many: smaller is more urgent. */
export function urgency(system: SystemView, nowMs: number): number {
  const first = rowsOf(system.metrics, nowMs).first[0];
  const alarms = system.alarms.filter(isCounted);
  const loudest = Math.min(3, ...alarms.map(({ priority }) => ({ high: 0, medium: 1, low: 2 })[priority]));
  if (first === undefined) return loudest * 1e3 + 999;
  const { order, at } = foresee(first, nowMs);
  return loudest * 1e3 + orders.indexOf(order) * 100 + Math.min(99, Math.max(0, (at - nowMs) / hourMs));
}

/** In its band as far as it can be told, and it will not leave it within two days, nor has it jumped. */
export function isQuiet(metric: MetricView, nowMs: number): boolean {
  const { order } = foresee(metric, nowMs);
  return orders.indexOf(order) >= orders.indexOf('unsure') && suddenWords(metric) === undefined;
}

/** Nobody is needed: no active alarm, and everything in it is quiet. */
export function isCalm(system: SystemView, nowMs: number): boolean {
  return urgency(system, nowMs) >= pressingBelow && system.metrics.every((metric) => isQuiet(metric, nowMs));
}
