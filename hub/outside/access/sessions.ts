import { createHash, randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import * as z from 'zod';
import { hourMs } from '#rules/clock/durations.ts';
import { writePrivateFile } from './private-file.ts';

const keptSchema = z.strictObject({
  /** The passphrase that these sign-ins were made with, by the hash of its stored hash. */
  passphrase: z.string(),
  sessions: z.array(
    z.strictObject({
      hash: z.string().length(64),
      startedMs: z.number(),
      usedMs: z.number(),
      device: z.string().max(60),
    }),
  ),
});

type Session = z.infer<typeof keptSchema>['sessions'][number];

export type Sessions = {
  /** The secret of a new session: it goes into the cookie and is kept nowhere. On disk, as a hash, when this returns. */
  start(device: string): string;
  /** The hash of the session that this secret belongs to, which counts as used; undefined when there is none. */
  use(secret: string): string | undefined;
  isLive(hash: string): boolean;
  end(hash: string): void;
  endAll(): void;
  count(): number;
};

/** Beyond so many devices the one that was not used for longest is signed out. */
const mostSessions = 100;
/** A use is written at most once in so long: the end after weeks needs no more, and the card is spared. */
const writeUseEveryMs = hourMs;

/**
 * The sign-ins of browsers. Is: over a restart of the hub; ended by the person, by time, or by another passphrase. A
 * session that ended is ended on disk before it is answered. Is not: kept when its file cannot be read; then everybody
 * signs in again.
 *
 * @param passphrase  the stored hash; sessions made with another one are over
 * @param unreadable  told when there is a file and it is none of ours
 */
export function createSessions(
  path: string,
  passphrase: string,
  idleMs: number,
  nowMs: () => number,
  unreadable: () => void = () => {},
): Sessions {
  const madeWith = sha256(passphrase);
  const live = new Map(read(path, madeWith, unreadable).map((session) => [session.hash, session]));

  function write(): void {
    writePrivateFile(path, `${JSON.stringify({ passphrase: madeWith, sessions: [...live.values()] })}\n`);
  }

  // A clock that was set back makes a session younger, never older.
  const isOver = (session: Session) => nowMs() - session.usedMs > idleMs;

  function isLive(hash: string): boolean {
    const session = live.get(hash);
    return session !== undefined && !isOver(session);
  }

  return {
    start(device) {
      const secret = randomBytes(32).toString('base64url');
      for (const session of [...live.values()]) if (isOver(session)) live.delete(session.hash);
      const byUse = [...live.values()].toSorted((left, right) => left.usedMs - right.usedMs);
      for (const { hash } of byUse.slice(0, Math.max(0, live.size - mostSessions + 1))) live.delete(hash);
      const hash = sha256(secret);
      live.set(hash, { hash, startedMs: nowMs(), usedMs: nowMs(), device: device.slice(0, 60) });
      write();
      return secret;
    },
    use(secret) {
      const hash = sha256(secret);
      const session = live.get(hash);
      if (session === undefined || isOver(session)) return undefined;
      if (nowMs() - session.usedMs > writeUseEveryMs) {
        session.usedMs = nowMs();
        try {
          write();
        } catch {
          // A full card must not sign anybody out; the use is written with the next change.
        }
      }
      return hash;
    },
    isLive,
    end(hash) {
      if (live.delete(hash)) write();
    },
    endAll() {
      live.clear();
      write();
    },
    count: () => [...live.values()].filter((session) => !isOver(session)).length,
  };
}

function read(path: string, madeWith: string, unreadable: () => void): Session[] {
  try {
    const kept = keptSchema.parse(JSON.parse(readFileSync(path, 'utf8')));
    return kept.passphrase === madeWith ? kept.sessions : [];
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') unreadable();
    return [];
  }
}

function sha256(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}
