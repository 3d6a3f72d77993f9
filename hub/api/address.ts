import type { AskedOf, Route } from './contract.ts';

export type Address = { method: 'GET' | 'POST' | 'DELETE'; path: string; body: unknown };

/** Where a question goes: its method, its path from `/api` on with everything in it encoded, and what is sent as JSON. */
export function addressOf<Name extends Route>(route: Name, asked: AskedOf<Name>): Address {
  const [method, pattern = ''] = route.split(' ') as [Address['method'], string];
  const {
    params = {},
    query = {},
    body,
  } = asked as {
    params?: Record<string, string | number>;
    query?: Record<string, unknown>;
    body?: unknown;
  };
  const path = pattern.replaceAll(/:(\w+)/g, (_, name: string) => encodeURIComponent(String(params[name])));
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(query)) if (value !== undefined) search.set(name, String(value));
  const asking = search.size === 0 ? '' : `?${search}`;
  // A question that changes something is JSON, also where there is nothing to say.
  return { method, path: `${path}${asking}`, body: method === 'POST' ? (body ?? {}) : undefined };
}
