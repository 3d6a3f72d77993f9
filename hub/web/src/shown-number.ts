import type { MetricView } from '../../http/room-view.ts';

/** What is needed to put a number of a metric before a keeper. */
export type Shows = Pick<MetricView, 'unit' | 'decimals' | 'shown'>;

type Way = NonNullable<Shows['shown']>;

/** The way of the keeper's unit; undefined for the store's, which also stands for what a bent unit cannot say. */
function wayOf({ shown }: Shows, value: number): Way | undefined {
  if (shown === null) return undefined;
  const [first, last] = [shown.points[0]?.[0] ?? value, shown.points.at(-1)?.[0] ?? value];
  return shown.isBent && (value < first || value > last) ? undefined : shown;
}

/** On the straight line between the two pairs of the table around the value, and beyond its ends on that of the last two. */
function along(points: readonly (readonly [number, number])[], value: number): number {
  const after = points.findIndex(([store]) => store >= value);
  const at = after === -1 ? points.length - 1 : Math.max(1, after);
  const [from, to] = [points[at - 1], points[at]];
  if (from === undefined || to === undefined) return value;
  return from[1] + ((value - from[0]) / (to[0] - from[0])) * (to[1] - from[1]);
}

/** A value as the keeper reads it, without its unit. */
export function valueText(metric: Shows, value: number): string {
  const way = wayOf(metric, value);
  return way === undefined ? value.toFixed(metric.decimals) : along(way.points, value).toFixed(way.decimals);
}

/** The unit that stands beside `valueText`; empty for a pure number. */
export function unitText(metric: Shows, value: number | null): string {
  return (value === null ? metric.shown : wayOf(metric, value))?.unit ?? metric.unit;
}

/** How much it moves, without a sign, with its unit. @param around  where it moves, in the store's unit */
export function amountText(metric: Shows, amount: number, around: number): string {
  const way = wayOf(metric, around);
  const moved = way === undefined ? amount : along(way.points, around + amount) - along(way.points, around);
  return `${Math.abs(moved).toFixed(way?.decimals ?? metric.decimals)} ${unitText(metric, around)}`.trim();
}

/** To the keeper's unit and back, over a whole scale: one unit for all of it, the store's where a bent one does not reach. */
export function scaleOfShown(
  metric: Shows,
  low: number,
  high: number,
): { toShown(value: number): number; toStore(shown: number): number } {
  const way = wayOf(metric, low) === undefined || wayOf(metric, high) === undefined ? null : metric.shown;
  if (way === null) return { toShown: (value) => value, toStore: (shown) => shown };
  const back = way.points.map(([store, shown]) => [shown, store] as const);
  return { toShown: (value) => along(way.points, value), toStore: (shown) => along(back, shown) };
}
