import Database from 'better-sqlite3';

/** The closed list of what can go wrong with the store. Callers branch on the code, never on the text. */
export type StoreErrorCode =
  | 'STORE_DISK_FULL'
  | 'STORE_READ_ONLY'
  | 'STORE_DAMAGED'
  | 'STORE_BUSY'
  | 'STORE_IO'
  | 'STORE_CANNOT_OPEN'
  | 'STORE_NEWER_SCHEMA'
  | 'STORE_OLDER_SCHEMA'
  | 'STORE_UNKNOWN_ENTRY'
  | 'STORE_BACKUP_FAILED'
  | 'STORE_NOT_A_BACKUP'
  | 'STORE_CLOSED';

/** What to do now, in the keeper's words. */
const remedies: Record<StoreErrorCode, string> = {
  STORE_DISK_FULL: 'Free space on the disk that holds it; the hub goes on by itself.',
  STORE_READ_ONLY: 'Check who owns the file and whether the card has gone read-only (a sign that it is wearing out).',
  STORE_DAMAGED: 'The next start keeps the damaged file aside and saves what can be read of it. Check the card.',
  STORE_BUSY: 'Another program holds the file. Stop it, or wait.',
  STORE_IO: 'The disk reports an error. Check the card and its cable, and take a backup.',
  STORE_CANNOT_OPEN: 'Check that the folder exists and belongs to the user that runs the hub.',
  STORE_NEWER_SCHEMA: 'Install the version of Brinekeep that wrote it, or a later one, or restore an older backup.',
  STORE_OLDER_SCHEMA:
    'A version that was never released wrote it. Keep the file elsewhere and begin a new one, or restore a later backup.',
  STORE_UNKNOWN_ENTRY: 'Correct an entry that is in the journal.',
  STORE_BACKUP_FAILED:
    'The copy was thrown away; earlier backups are untouched. Check the disk that takes the backups.',
  STORE_NOT_A_BACKUP:
    'Nothing was changed. Name a file that `brinekeep backup` wrote, such as brinekeep-2026-07-01.db.',
  STORE_CLOSED: 'Open the store before using it.',
};

export class StoreError extends Error {
  readonly code: StoreErrorCode;

  constructor(code: StoreErrorCode, what: string, cause?: unknown) {
    super(`${what} ${remedies[code]}`, cause === undefined ? undefined : { cause });
    this.name = 'StoreError';
    this.code = code;
  }
}

/** SQLite's result codes by their stem, as sqlite.org/rescode.html lists them. */
const codeOfStem: Record<string, StoreErrorCode> = {
  FULL: 'STORE_DISK_FULL',
  READONLY: 'STORE_READ_ONLY',
  PERM: 'STORE_READ_ONLY',
  CORRUPT: 'STORE_DAMAGED',
  NOTADB: 'STORE_DAMAGED',
  BUSY: 'STORE_BUSY',
  LOCKED: 'STORE_BUSY',
  IOERR: 'STORE_IO',
  CANTOPEN: 'STORE_CANNOT_OPEN',
};

/** The same for calls of the file system, as errno(3) names them. */
const codeOfErrno: Record<string, StoreErrorCode> = {
  ENOSPC: 'STORE_DISK_FULL',
  EDQUOT: 'STORE_DISK_FULL',
  EROFS: 'STORE_READ_ONLY',
  EACCES: 'STORE_READ_ONLY',
  EPERM: 'STORE_READ_ONLY',
  EIO: 'STORE_IO',
  ENOENT: 'STORE_CANNOT_OPEN',
  ENOTDIR: 'STORE_CANNOT_OPEN',
  EEXIST: 'STORE_CANNOT_OPEN',
  EISDIR: 'STORE_CANNOT_OPEN',
};

/** Turns a fault of the disk or of the file into a StoreError; gives anything else back as it is: that is a bug of ours. */
export function asStoreError(error: unknown, doing: string): unknown {
  if (!(error instanceof Database.SqliteError)) {
    const errno = error instanceof Error && 'code' in error ? codeOfErrno[String(error.code)] : undefined;
    return errno === undefined ? error : new StoreError(errno, `${doing}: ${(error as Error).message}.`, error);
  }
  // The index of the log is a memory-mapped file of its own: no room for it is also a full disk.
  const stem = error.code === 'SQLITE_IOERR_SHMSIZE' ? 'FULL' : (error.code.split('_')[1] ?? '');
  const code = codeOfStem[stem];
  return code ? new StoreError(code, `${doing}: ${error.message} (${error.code}).`, error) : error;
}

/** Runs a piece of work on the file; its failures come out as StoreError. */
export function guarded<Result>(doing: string, work: () => Result): Result {
  try {
    return work();
  } catch (error) {
    throw asStoreError(error, doing);
  }
}

/** Part of the file cannot be read from the disk, which may still take what is written elsewhere. */
export function isUnreadable(error: StoreError): boolean {
  const { cause } = error;
  return cause instanceof Database.SqliteError && /^SQLITE_IOERR_(READ|SHORT_READ|CORRUPTFS)$/.test(cause.code);
}
