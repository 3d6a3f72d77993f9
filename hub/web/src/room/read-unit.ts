import { amountText, type Shows, scaleOfShown, unitText, valueText } from '../kit/shown-number.ts';
import { room } from './room-signals.ts';

/** The store's units, for metrics that no system of the room shows. */
const storeUnits: Record<string, string> = {
  temperature: '°C',
  salinity: '',
  ph: '',
  alkalinity: 'dKH',
  calcium: 'mg/L',
  magnesium: 'mg/L',
  nitrate: 'mg/L',
  phosphate: 'mg/L',
};

/** Forms about bags, baths and batches name metrics by text; a keeper reads each in one unit in the whole room. */
function showsOf(metric: string): Shows | undefined {
  return room.value?.systems.flatMap(({ metrics }) => metrics).find((each) => each.metric === metric);
}

/** The unit in which a number of the metric is typed and read; empty for a pure number. */
export function unitOf(metric: string): string {
  const shows = showsOf(metric);
  return (shows === undefined ? storeUnits[metric] : unitText(shows, null)) ?? '';
}

/** `Bag temperature, °F`: with the unit in which the number is typed and read. */
export function withUnit(words: string, metric: string): string {
  const unit = unitOf(metric);
  return unit === '' ? words : `${words}, ${unit}`;
}

/** A number of the store as the keeper reads it, without its unit; in the store's unit with the given decimals. */
export function readNumber(metric: string, value: number, decimals: number): string {
  const shows = showsOf(metric);
  return shows === undefined || shows.shown === null ? value.toFixed(decimals) : valueText(shows, value);
}

/** What the keeper typed, in the store's unit. */
export function typedInStore(metric: string, typed: number): number {
  const shows = showsOf(metric);
  if (shows === undefined || shows.shown === null) return typed;
  const points = shows.shown.points;
  const [low, high] = [points[0]?.[0] ?? 0, points.at(-1)?.[0] ?? 0];
  return scaleOfShown(shows, low, high).toStore(typed);
}

/** How much a number of the store may miss, on both sides of a value, with its unit. */
export function readAmount(metric: string, amount: number, around: number, decimals: number): string {
  const shows = showsOf(metric);
  return shows === undefined || shows.shown === null ? amount.toFixed(decimals) : amountText(shows, amount, around);
}

/** A number of the store as it would be typed by the keeper; in the store's unit with all its digits. */
export function typedOfStore(metric: string, value: number): string {
  const shows = showsOf(metric);
  return shows === undefined || shows.shown === null ? String(value) : valueText(shows, value);
}
