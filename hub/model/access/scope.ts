/** What somebody may do: see all; also enter, acknowledge and shelve; everything. Each holds those before it. */
export const scopes = ['read', 'enter', 'admin'] as const;
export type Scope = (typeof scopes)[number];

/** What a route asks for; `open` answers everybody. A route without one asks for what its method does. */
export type RouteScope = Scope | 'open';

export function includes(given: Scope, needed: RouteScope): boolean {
  return needed === 'open' || scopes.indexOf(given) >= scopes.indexOf(needed);
}

/**
 * Changing what all later readings mean, how the hub works, or who may come in. A route below one of these needs `admin`
 * for whatever is not a GET, unless it says otherwise itself.
 */
const adminRoutes = [
  '/api/access',
  '/api/calibrations',
  '/api/configuration',
  '/api/settings',
  '/api/phones',
  '/api/backups',
  '/api/reload',
];

export function scopeByDefault(method: string, route: string): Scope {
  if (method === 'GET' || method === 'HEAD' || method === 'OPTIONS') return 'read';
  return adminRoutes.some((each) => route === each || route.startsWith(`${each}/`)) ? 'admin' : 'enter';
}
