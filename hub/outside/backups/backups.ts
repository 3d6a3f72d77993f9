import { mkdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { FastifyBaseLogger } from 'fastify';
import { DateTime } from 'luxon';
import type { Store } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Config } from '../../model/config/schema.ts';
import { copyNewPhotos } from './copy-photos.ts';
import { freeBytes, storeBytes } from './disk.ts';
import { backupName, lastDueMs, outdated } from './rotation.ts';

const documentName = 'backups';
/** After a failure: what was full or away may be there again, and no disk is hammered. */
const retryMs = hourMs;
/** The copy needs the room of the store and some for the flushes that come meanwhile. */
const spaceMargin = 1.2;
/** Left to the readings on the same disk. */
const reserveBytes = 64 * 1_048_576;
const mostRemembered = 1_000;
/** A copy of a large store may take minutes; one that is cut off is thrown away by the next. */
const stopWithinMs = 5_000;

type Remembered = {
  /** Since when backups are due. */
  sinceMs: number;
  lastGood: { name: string; atMs: number } | undefined;
  /** All that the hub has made and not deleted. */
  made: string[];
};

export type BackupState = {
  isEnabled: boolean;
  isRunning: boolean;
  lastGoodMs: number | undefined;
  lastGoodFile: string | undefined;
  /** Of the last try, when it failed. */
  error: string | undefined;
};

export type BackupsParts = {
  config: Pick<Config, 'backups' | 'data_dir' | 'site'>;
  store: Pick<Store, 'document' | 'commit' | 'backup'>;
  storePath: string;
  nowMs(): number;
  monotonicMs(): number;
  /** No backup bears the name of a day that is not certain. */
  isClockTrusted(): boolean;
  log: Pick<FastifyBaseLogger, 'info' | 'error'>;
  /** Said once at the start of a run of failures. */
  failed(line: string): void;
};

export type Backups = {
  /** Makes the backup that is due, if one is and none is being made. Called about once a minute. */
  tick(): void;
  state(): BackupState;
  /** None is begun after; one that is being made is waited for, for some seconds. */
  stop(): Promise<void>;
};

/**
 * Backups by the clock.
 *
 * Is: one at a time; a night that was missed is made up at the next start; only files that the hub made are deleted, only
 * after a newer one was read through and found sound, and never the last sound one.
 * Is not: a backup of the photos at one moment; they are copied beside, each once.
 */
export function createBackups(parts: BackupsParts): Backups {
  const { config, store, log } = parts;
  const { enabled, at } = config.backups;
  const dir = config.backups.dir ?? join(config.data_dir, 'backups');
  let remembered = restored(store.document(documentName));
  let running: Promise<void> | undefined;
  let isStopped = false;
  let error: string | undefined;
  let triedMonotonicMs = Number.NEGATIVE_INFINITY;

  function keep(next: Remembered): void {
    remembered = next;
    store.commit({ documents: [{ name: documentName, body: JSON.stringify(next) }] });
  }

  function isDue(nowMs: number): boolean {
    if (remembered === undefined) {
      keep({ sinceMs: nowMs, lastGood: undefined, made: [] });
      return false;
    }
    if (error !== undefined && parts.monotonicMs() - triedMonotonicMs < retryMs) return false;
    // A backup that bears a time to come was made by a clock that ran ahead.
    const lastMs = Math.min(remembered.lastGood?.atMs ?? remembered.sinceMs, nowMs);
    return lastMs < lastDueMs(nowMs, at, config.site.timezone);
  }

  async function make(nowMs: number): Promise<void> {
    const name = backupName(DateTime.fromMillis(nowMs, { zone: config.site.timezone }).toFormat('yyyy-MM-dd'));
    await mkdir(dir, { recursive: true });
    const [free, needed] = [freeBytes(dir), storeBytes(parts.storePath) * spaceMargin + reserveBytes];
    if (free !== undefined && free < needed) {
      throw new Error(`${dir} has ${megabytes(free)} free, and ${megabytes(needed)} are needed`);
    }
    await store.backup(join(dir, name));
    if (isStopped) return;
    const known = remembered ?? { sinceMs: nowMs, lastGood: undefined, made: [] };
    const made = [...known.made.filter((each) => each !== name), name].slice(-mostRemembered);
    // Noted before older ones go: a crash between the two leaves a file too many and not one too few.
    keep({ ...known, lastGood: { name, atMs: nowMs }, made });
    const old = outdated(made, config.backups, name);
    for (const each of old) await rm(join(dir, each), { force: true });
    if (isStopped) return;
    if (old.length > 0)
      keep({ ...known, lastGood: { name, atMs: nowMs }, made: made.filter((each) => !old.includes(each)) });
    const photos = await copyNewPhotos(join(config.data_dir, 'photos'), join(dir, 'photos'));
    log.info({ file: join(dir, name), deleted: old.length, photos }, 'a backup is made and checked');
  }

  function run(nowMs: number): void {
    const failedBefore = error !== undefined;
    triedMonotonicMs = parts.monotonicMs();
    running = make(nowMs)
      .then(() => {
        error = undefined;
      })
      .catch((reason: unknown) => {
        error = reason instanceof Error ? reason.message : String(reason);
        log.error({ dir, err: reason }, 'the backup failed');
        if (!failedBefore && !isStopped) parts.failed(`Tonight’s backup failed: ${error}`);
      })
      .finally(() => {
        running = undefined;
      });
  }

  return {
    tick() {
      if (!enabled || isStopped || running !== undefined || !parts.isClockTrusted()) return;
      const nowMs = parts.nowMs();
      if (isDue(nowMs)) run(nowMs);
    },
    state: () => ({
      isEnabled: enabled,
      isRunning: running !== undefined,
      lastGoodMs: remembered?.lastGood?.atMs,
      lastGoodFile: remembered?.lastGood === undefined ? undefined : join(dir, remembered.lastGood.name),
      error,
    }),
    async stop() {
      isStopped = true;
      let timer: NodeJS.Timeout | undefined;
      const patience = new Promise<void>((resolve) => {
        timer = setTimeout(resolve, stopWithinMs);
      });
      await Promise.race([running, patience]);
      clearTimeout(timer);
    },
  };
}

function megabytes(bytes: number): string {
  return `${Math.ceil(bytes / 1_048_576)} MiB`;
}

function restored(body: string | undefined): Remembered | undefined {
  if (body === undefined) return undefined;
  try {
    const found = JSON.parse(body) as Partial<Remembered>;
    if (typeof found.sinceMs !== 'number') return undefined;
    const made = Array.isArray(found.made) ? found.made.filter((name) => typeof name === 'string') : [];
    return { sinceMs: found.sinceMs, lastGood: found.lastGood, made };
  } catch {
    return undefined;
  }
}
