import { createHmac, randomBytes } from 'node:crypto';

/** Boards come back all at once after a power cut, and again; a changed configuration starts the hub again. */
const rememberedMs = 10 * 60_000;
const mostRemembered = 1000;

/**
 * Logins that were right a moment ago, so that the room's boards do not derive a key each time they come back. In memory alone, as a
 * keyed digest whose key nobody else has.
 */
export function createKnownLogins(monotonicMs: () => number) {
  const key = randomBytes(32);
  const untilMs = new Map<string, number>();
  const nameOf = (user: string, password: string) =>
    createHmac('sha256', key)
      .update(JSON.stringify([user, password]))
      .digest('base64');

  return {
    isKnown(user: string, password: string): boolean {
      const until = untilMs.get(nameOf(user, password));
      return until !== undefined && monotonicMs() < until;
    },
    remember(user: string, password: string): void {
      const name = nameOf(user, password);
      untilMs.delete(name);
      const [oldest] = untilMs.keys();
      if (untilMs.size >= mostRemembered && oldest !== undefined) untilMs.delete(oldest);
      untilMs.set(name, monotonicMs() + rememberedMs);
    },
  };
}
