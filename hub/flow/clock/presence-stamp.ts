/** What the hub leaves behind every minute, and when it stops. UTC milliseconds. */
export type Presence = { aliveMs: number; isStopped: boolean };

/** The document in which it is stored. */
export const presenceDocument = 'presence';

/** The stored trace; undefined when there is none or it is not one. */
export function presenceFrom(body: string | undefined): Presence | undefined {
  if (body === undefined) return undefined;
  try {
    const found: unknown = JSON.parse(body);
    if (typeof found !== 'object' || found === null) return undefined;
    const { aliveMs, isStopped } = found as Partial<Presence>;
    return typeof aliveMs === 'number' ? { aliveMs, isStopped: isStopped === true } : undefined;
  } catch {
    return undefined;
  }
}
