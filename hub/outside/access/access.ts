import { statSync } from 'node:fs';
import { join } from 'node:path';
import { dayMs } from '#rules/clock/durations.ts';
import type { Scope } from '../../model/access/scope.ts';
import type { Config } from '../../model/config/schema.ts';
import { type AccessDocument, AccessFileBroken, accessFileOf, hashOfToken, readAccessFile } from './access-file.ts';
import { hashOfNothing, matchesHash, type ScryptCost, usualCost } from './secret-hash.ts';
import { createSessions, type Sessions } from './sessions.ts';

/** Who is asking. `machine`: nobody has set a passphrase, and the hub answers this machine alone. */
export type Grant =
  | { by: 'machine'; scope: Scope }
  | { by: 'session'; scope: Scope; session: string }
  | { by: 'token'; scope: Scope; token: string };

export type Access = {
  /** False until a passphrase is set. */
  isNeeded(): boolean;
  grantOf(bearer: string | undefined, cookie: string | undefined): Grant | undefined;
  /** The secret of a new session; undefined for a wrong passphrase. @throws TooManyDerivations */
  signIn(passphrase: string, device: string): Promise<string | undefined>;
  signOut(session: string): void;
  signOutEverywhere(): void;
  sessions(): number;
  /** Calls `end` when the grant is over, again until it gives true; returns how to stop waiting for that. */
  whileGranted(grant: Grant, end: () => boolean): () => void;
  /** Why the file of hashes cannot be read; undefined while it can. */
  fault(): string | undefined;
  stop(): void;
};

export type AccessParts = {
  config: Pick<Config, 'access' | 'data_dir'>;
  nowMs(): number;
  log: Record<'error' | 'warn' | 'info', (about: object, line: string) => void>;
  /** Of the derivation that answers while there is no passphrase; only tests give a cheaper one. */
  cost?: ScryptCost;
};

/** How soon an open stream ends when its token is revoked, or its session is over by time. */
const lookEveryMs = 2000;

/**
 * The door. The file with the hashes is looked at for every request, so that a passphrase or a token that another process
 * sets or revokes counts at once. Once there was a passphrase, the door stays locked until the hub is started again,
 * whatever becomes of the file.
 * A file that cannot be read shuts the door and does not keep the hub from watching.
 */
export function createAccess({ config, nowMs, log, cost = usualCost }: AccessParts): Access {
  const file = accessFileOf(config);
  const sessionsFile = join(config.data_dir, 'sessions.json');
  let stamp = '';
  let document: AccessDocument = { tokens: [] };
  let sessions: Sessions | undefined;
  let fault: string | undefined;
  // So that an answer without a passphrase takes as long as one with it.
  const nobodys = hashOfNothing(cost);
  const streams = new Map<() => boolean, Grant>();

  function take(next: AccessDocument): void {
    if (next.passphrase === undefined && document.passphrase !== undefined) {
      log.warn({ file }, 'the passphrase is gone from its file; the former one counts until the hub is restarted');
      document = { ...next, passphrase: document.passphrase };
      return;
    }
    const isOther = next.passphrase?.hash !== document.passphrase?.hash;
    document = next;
    if (isOther && next.passphrase !== undefined) {
      const idleMs = config.access.session_idle_days * dayMs;
      sessions = createSessions(sessionsFile, next.passphrase.hash, idleMs, nowMs, () =>
        log.warn({ file: sessionsFile }, 'the sign-ins cannot be read: everybody signs in again'),
      );
    }
  }

  function look(): void {
    const { now, isOpenToOthers } = stampOf(file);
    if (now === stamp) return;
    const isFirst = stamp === '';
    stamp = now;
    if (isOpenToOthers) log.warn({ file }, 'others on this machine may read this file; chmod 600 it');
    try {
      take(readAccessFile(file));
      fault = undefined;
      if (!isFirst) log.info({ file, tokens: document.tokens.length }, 'passphrase and tokens are read again');
    } catch (error) {
      if (!(error instanceof AccessFileBroken)) throw error;
      // The room is watched all the same. With a passphrase that nobody has, the door stays shut.
      if (isFirst) document = { tokens: [], passphrase: { hash: nobodys, set: new Date(nowMs()).toISOString() } };
      fault = error.message;
      log.error(
        { file },
        `${error.message} ${isFirst ? 'No one can sign in until then.' : 'What was read before still counts.'}`,
      );
    }
  }

  function isStillGood(grant: Grant): boolean {
    if (grant.by === 'machine') return document.passphrase === undefined;
    if (grant.by === 'token') return document.tokens.some(({ hash }) => hash === grant.token);
    return sessions?.isLive(grant.session) === true;
  }

  function endStreams(): void {
    for (const [end, grant] of [...streams]) {
      if (!isStillGood(grant) && end()) streams.delete(end);
    }
  }

  look();
  const timer = setInterval(() => {
    look();
    endStreams();
  }, lookEveryMs);
  timer.unref();

  return {
    isNeeded() {
      look();
      return document.passphrase !== undefined;
    },
    grantOf(bearer, cookie) {
      look();
      if (document.passphrase === undefined) return { by: 'machine', scope: 'admin' };
      if (bearer !== undefined) {
        const hash = hashOfToken(bearer);
        const token = document.tokens.find((each) => each.hash === hash);
        return token === undefined ? undefined : { by: 'token', scope: token.scope, token: hash };
      }
      const session = cookie === undefined ? undefined : sessions?.use(cookie);
      return session === undefined ? undefined : { by: 'session', scope: 'admin', session };
    },
    async signIn(passphrase, device) {
      look();
      const stored = document.passphrase?.hash;
      const isRight = await matchesHash(passphrase, stored ?? nobodys);
      // Another passphrase may have been set meanwhile.
      if (!isRight || stored === undefined || stored !== document.passphrase?.hash) return undefined;
      return sessions?.start(device);
    },
    signOut(session) {
      sessions?.end(session);
      endStreams();
    },
    signOutEverywhere() {
      sessions?.endAll();
      endStreams();
    },
    sessions: () => sessions?.count() ?? 0,
    whileGranted(grant, end) {
      streams.set(end, grant);
      return () => void streams.delete(end);
    },
    fault: () => fault,
    stop: () => clearInterval(timer),
  };
}

/** `now` changes with every writing, since each makes a new file; it is `none` when there is no file. */
function stampOf(file: string): { now: string; isOpenToOthers: boolean } {
  let stat: ReturnType<typeof statSync> | undefined;
  try {
    stat = statSync(file, { throwIfNoEntry: false });
  } catch {
    // Reading it says why.
    return { now: 'unreadable', isOpenToOthers: false };
  }
  if (stat === undefined) return { now: 'none', isOpenToOthers: false };
  return { now: `${stat.ino} ${stat.size} ${stat.mtimeMs} ${stat.mode}`, isOpenToOthers: (stat.mode & 0o077) !== 0 };
}
