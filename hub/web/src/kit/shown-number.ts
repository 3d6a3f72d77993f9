import { alongTable } from '#rules/quantity/along-table.ts';
import type { MetricView } from '../../../api/room.ts';

/** What is needed to put a number of a metric before a keeper. */
export type Shows = Pick<MetricView, 'unit' | 'decimals' | 'shown'>;

type Way = NonNullable<Shows['shown']>;

/** The way of the keeper's unit; undefined for the store's, which also stands for what a bent unit cannot say. */
function wayOf({ shown }: Shows, value: number): Way | undefined {
  if (shown === null) return undefined;
  const [first, last] = [shown.points[0]?.[0] ?? value, shown.points.at(-1)?.[0] ?? value];
  return shown.isBent && (value < first || value > last) ? undefined : shown;
}

/** A number with the sign of the trade's tables: a hyphen is too short to be seen from across a room. */
export function signText(number: string): string {
  return number.replace('-', '\u2212');
}

/** A value as the keeper reads it, without its unit. */
export function valueText(metric: Shows, value: number): string {
  const way = wayOf(metric, value);
  return signText(
    way === undefined ? value.toFixed(metric.decimals) : alongTable(way.points, value).toFixed(way.decimals),
  );
}

/** The unit that stands beside `valueText`; empty for a pure number. */
export function unitText(metric: Shows, value: number | null): string {
  return (value === null ? metric.shown : wayOf(metric, value))?.unit ?? metric.unit;
}

/** How much it moves, without a sign, with its unit. @param around  where it moves, in the store's unit */
export function amountText(metric: Shows, amount: number, around: number): string {
  const way = wayOf(metric, around);
  const moved = way === undefined ? amount : alongTable(way.points, around + amount) - alongTable(way.points, around);
  const decimals = way?.decimals ?? metric.decimals;
  // As in the hub's sentences: a small amount of what has no decimals would read 0 or 1.
  const needed = decimals === 0 && Math.abs(moved) < 10 ? 1 : decimals;
  return `${Math.abs(moved).toFixed(needed)} ${unitText(metric, around)}`.trim();
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
  return { toShown: (value) => alongTable(way.points, value), toStore: (shown) => alongTable(back, shown) };
}
