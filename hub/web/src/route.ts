import { signal } from '@preact/signals';

/** What the page shows, kept in the address after `#` so that the back button and a bookmark work. */
export type Route =
  | { view: 'room' }
  | { view: 'system'; system: string }
  | { view: 'metric'; system: string; metric: string }
  | { view: 'alarms' }
  | { view: 'week' };

export function routeOf(hash: string): Route {
  const [view, first, second] = hash.replace(/^#\/?/, '').split('/').map(decodeURIComponent);
  if (view === 'alarms') return { view };
  if (view === 'week') return { view };
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
