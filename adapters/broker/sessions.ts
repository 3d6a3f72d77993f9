import * as z from 'zod';
import { dayMs } from '#rules/clock/durations.ts';

/** Where lasting sessions are kept over a restart. */
export type SessionMemory = { load(): string | undefined; save(text: string): void };

export type Filter = { topic: string; qos: 0 | 1 | 2 };
export type Session = { id: string; user: string; seenMs: number; filters: Filter[] };

const filterSchema = z.object({
  topic: z.string(),
  qos: z.union([z.literal(0), z.literal(1), z.literal(2)]),
});
const keptSchema = z.array(
  z.object({ id: z.string(), user: z.string(), seenMs: z.number(), filters: z.array(filterSchema) }),
);

/** Nobody was seen under it for so long: the session ends. An app on a holiday keeps its own. */
const lastsForMs = 7 * dayMs;

/** What each user of several may have at most: the others keep some room. @param users  at least 1 */
export function shareOf(most: number, users: number): number {
  const reserved = Math.min(10, Math.floor(most / users));
  return Math.max(1, most - reserved * (users - 1));
}

/**
 * The lasting sessions of the broker: whose they are, and since when nobody was there.
 *
 * Is: bounded in all and for each user; one that nobody used for a week ends.
 * Is not: the messages that wait for them; those are lost with the process, and what still matters is said again.
 */
export function createSessions(most: number, mostOfUser: () => number, nowMs: () => number) {
  const sessions = new Map<string, { user: string; seenMs: number }>();

  return {
    size: () => sessions.size,
    has: (id: string) => sessions.has(id),
    /** False where the user, or the broker, has as many as may be. */
    take(id: string, user: string): boolean {
      const own = [...sessions.values()].filter((session) => session.user === user).length;
      if (!sessions.has(id) && (sessions.size >= most || own >= mostOfUser())) return false;
      sessions.set(id, { user, seenMs: nowMs() });
      return true;
    },
    end: (id: string): boolean => sessions.delete(id),
    seen(id: string): void {
      const session = sessions.get(id);
      if (session !== undefined) session.seenMs = nowMs();
    },
    /** Sessions whose time is over, but those of clients that are connected. */
    expired: (isConnected: (id: string) => boolean): string[] =>
      [...sessions].filter(([id, { seenMs }]) => !isConnected(id) && nowMs() - seenMs > lastsForMs).map(([id]) => id),
    text: (filtersOf: ReadonlyMap<string, Filter[]>): string =>
      JSON.stringify([...sessions].map(([id, session]) => ({ id, ...session, filters: filtersOf.get(id) ?? [] }))),
    ids: () => [...sessions.keys()],
    /** Those of an earlier run whose user is still known; nothing of a text that cannot be read. */
    restored(text: string | undefined, isKnown: (user: string) => boolean): Session[] {
      const kept = keptSchema.safeParse(jsonOf(text)).data ?? [];
      const good = kept.filter(({ user, seenMs }) => isKnown(user) && nowMs() - seenMs <= lastsForMs).slice(0, most);
      for (const { id, user, seenMs } of good) sessions.set(id, { user, seenMs });
      return good;
    },
  };
}

export type Sessions = ReturnType<typeof createSessions>;

function jsonOf(text: string | undefined): unknown {
  try {
    return text === undefined ? [] : JSON.parse(text);
  } catch {
    return [];
  }
}
