import { signal } from '@preact/signals';
import { isPlace, type Place } from './place-names.ts';

/** What the page shows, kept in the address after `#` so that the back button and a bookmark work. */
export type Route =
  | { view: 'room' }
  | { view: 'system'; system: string }
  | { view: 'metric'; system: string; metric: string }
  | { view: 'alarms' }
  /** A view that is loaded when it is opened, with the further parts of the address. */
  | { view: 'place'; place: Place; parts: string[] };

/** An address that somebody typed by hand may be broken. */
function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

export function routeOf(hash: string): Route {
  const parts = hash.replace(/^#\/?/, '').split('/').map(decoded);
  const [view, first, second] = parts;
  if (view === 'alarms') return { view };
  if (isPlace(view)) return { view: 'place', place: view, parts: parts.slice(1) };
  if (view === 'system' && first !== undefined && first !== '')
    return second === undefined || second === ''
      ? { view: 'system', system: first }
      : { view: 'metric', system: first, metric: second };
  return { view: 'room' };
}

export function addressOf(system: string, metric?: string): string {
  return `#/system/${encodeURIComponent(system)}${metric === undefined ? '' : `/${encodeURIComponent(metric)}`}`;
}

export const route = signal<Route>(routeOf(location.hash));

/** A view that was opened begins at its top, and says its name to a screen reader. */
export function followAddress(): void {
  addEventListener('hashchange', () => {
    route.value = routeOf(location.hash);
    scrollTo(0, 0);
    requestAnimationFrame(() => document.querySelector<HTMLElement>('[data-view-title]')?.focus());
  });
}
