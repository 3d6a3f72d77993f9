import { chmodSync, existsSync, mkdirSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import type Database from 'better-sqlite3';
import { syncPath, throwAway } from './backup.ts';
import type { SideFile } from './side-file.ts';
import type { StoreFault } from './store-options.ts';

/**
 * The files that this process has open, watched by their names: who deletes or replaces them takes the record away, and the
 * system goes on writing into files that nobody can open again.
 *
 * Is: noticed at the next flush; a copy of all that is open then lies at the old name, and a proper stop makes it again, with
 * what came since. A kill in between leaves the copy and, in the side file, the readings since.
 * Is not: able to go over to the copy without a restart; quick, for a large store: the copy is made in one go.
 */
export function ownFiles(db: Database.Database, path: string, side: SideFile, onFault: (fault: StoreFault) => void) {
  const log = `${path}-wal`;
  const mine = new Set([identityOf(path), identityOf(log)]);
  let isGone = false;
  let hasCopy = false;
  let toldTrouble: string | undefined;

  const isMine = (file: string) => mine.has(identityOf(file));

  /** @returns where the copy lies: not over a file that somebody else has put there */
  function copy(): string {
    mkdirSync(dirname(path), { recursive: true });
    const unfinished = `${path}.unfinished`;
    throwAway(unfinished);
    db.prepare('VACUUM INTO ?').run(unfinished);
    chmodSync(unfinished, 0o600);
    syncPath(unfinished);
    // A log of the former file beside another one would be taken for its own.
    if (isMine(log)) rmSync(log, { force: true });
    const isTaken = [path, log].some((file) => existsSync(file) && !isMine(file));
    const place = isTaken ? `${path}.former` : path;
    mine.add(identityOf(unfinished));
    renameSync(unfinished, place);
    syncPath(dirname(path));
    return place;
  }

  function rescue(): void {
    try {
      const place = copy();
      hasCopy = true;
      onFault({
        kind: 'files_gone',
        detail:
          place === path
            ? 'The files of the record were deleted while the hub had them open. A copy is in their place. Restart the hub now; until then it refuses entries.'
            : `Another file took the name of the record while the hub had it open. Restart the hub to go on with that file; until then it refuses entries. The former record is kept as ${place}.`,
      });
    } catch (error) {
      const trouble = error instanceof Error ? error.message : String(error);
      if (trouble === toldTrouble) return;
      toldTrouble = trouble;
      onFault({
        kind: 'files_gone',
        detail: `The files of the record were deleted while the hub had them open, and no copy can be made. Free space and check who owns the folder; it is tried again at each flush. Do not stop the hub before. (${trouble})`,
      });
    }
  }

  return {
    /** After a flush. */
    check(): void {
      side.reopenIfGone();
      if (!isGone && isThere(path, mine) && isThere(log, mine)) return;
      if (!isGone) side.hold();
      isGone = true;
      if (!hasCopy) rescue();
    },

    /** Before the store is closed, with all in it. */
    finish(): void {
      if (!isGone) return;
      copy();
      side.release();
    },
  };
}

/** Undefined where there is none. */
function identityOf(file: string): string | undefined {
  const found = statSync(file, { bigint: true, throwIfNoEntry: false });
  return found && `${found.dev}/${found.ino}`;
}

/** A disk that does not even answer this: the flush reports it. */
function isThere(file: string, mine: ReadonlySet<string | undefined>): boolean {
  try {
    const found = identityOf(file);
    return found !== undefined && mine.has(found);
  } catch {
    return true;
  }
}
