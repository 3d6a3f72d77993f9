import { accessSync, constants, existsSync, statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import { userHere } from './readable-file.ts';

type Kind = 'full' | 'read_only' | 'permission' | 'io' | 'busy' | 'no_folder' | 'is_folder' | 'not_folder';

/** As errno(3), the store and SQLite (sqlite.org/rescode.html) name them. */
const kindOfCode: Record<string, Kind> = {
  ENOSPC: 'full',
  EDQUOT: 'full',
  STORE_DISK_FULL: 'full',
  EROFS: 'read_only',
  STORE_READ_ONLY: 'read_only',
  EACCES: 'permission',
  EPERM: 'permission',
  EIO: 'io',
  STORE_IO: 'io',
  STORE_BUSY: 'busy',
  ENOENT: 'no_folder',
  STORE_CANNOT_OPEN: 'no_folder',
  EISDIR: 'is_folder',
  ENOTDIR: 'not_folder',
  EEXIST: 'not_folder',
  SQLITE_IOERR: 'io',
  SQLITE_FULL: 'full',
  SQLITE_READONLY: 'read_only',
  SQLITE_CANTOPEN: 'no_folder',
};

function kindOf({ code = '' }: Failure): Kind | undefined {
  // Of SQLite's extended codes the first two words say it.
  const [stem] = /^SQLITE_[A-Z]+/.exec(code) ?? [];
  return [code, stem ?? ''].flatMap((each) => (Object.hasOwn(kindOfCode, each) ? [kindOfCode[each]!] : []))[0];
}

/** What is wrong, and what to do now. */
const words: Record<Kind, () => [wrong: string, todo: string]> = {
  full: () => ['the disk is full', 'Free space on it (df -h shows how much there is), then try again.'],
  read_only: () => [
    'the disk is read-only',
    'A card that turns read-only by itself is wearing out: copy what is on it to another disk, and replace it.',
  ],
  permission: () => [
    `the user ${userHere()} may not write there`,
    'Put sudo before the command, or name a folder of your own.',
  ],
  io: () => [
    'the disk reports an error',
    'Check card, cable and power, and make a backup to another disk: brinekeep backup FILE.',
  ],
  busy: () => [
    'another hub or program has the store open',
    'Stop that one first (systemctl status brinekeep), or wait until it ends.',
  ],
  no_folder: () => ['there is no such folder', 'Make it, or name another place.'],
  is_folder: () => ['this is a folder, not a file', 'Name a file.'],
  not_folder: () => ['part of the path is a file, not a folder', 'Name another place.'],
};

/**
 * What a disk or a folder refuses, in words with what to do; undefined for an error of another kind, which is a fault of ours.
 * An error that was wrapped is told by its cause, which knows more.
 */
export function diskTrouble(error: unknown): string | undefined {
  const chain = chainOf(error);
  const kind = chain.map(kindOf).findLast((each) => each !== undefined);
  if (kind === undefined) return undefined;
  const place = chain.map(placeOf).find((each) => each !== undefined);
  const [wrong, todo] = words[kindAt(place, kind)]();
  return `${place ?? 'standard output'}: ${wrong}. ${todo}`;
}

/** The same for the output of a verb. Nothing for one that nobody reads to its end, as with `head`. */
export function outputTrouble(error: unknown): string | undefined {
  if (error instanceof Error && 'code' in error && error.code === 'EPIPE') return undefined;
  return diskTrouble(error) ?? `standard output: ${error instanceof Error ? error.message : String(error)}`;
}

type Failure = Error & { code?: string; path?: string; dest?: string };

function chainOf(error: unknown): Failure[] {
  const chain: Failure[] = [];
  for (let each = error; each instanceof Error && chain.length < 5; each = each.cause) chain.push(each);
  return chain;
}

/** Of a draft the name that it would have got, of a copy for a while the folder that was to take it. */
const draftEnding = /\.(unfinished|importing)$|\/export-[^/]+$/;

/** The file or folder that it is about: of a copy that which is written. The store says in words what it was doing. */
function placeOf({ dest, path, message }: Failure): string | undefined {
  const place = dest ?? path ?? /^[A-Z][a-z ]+ (\/.+?|\S+?): /.exec(message)?.[1];
  return place?.replace(draftEnding, '');
}

/** A read-only disk is often told as something else: that a folder below it is not there, or that one may not write. */
function kindAt(place: string | undefined, kind: Kind): Kind {
  if (place === undefined || kind === 'full' || kind === 'busy') return kind;
  let nearest = place;
  while (!existsSync(nearest) && nearest !== dirname(nearest)) nearest = dirname(nearest);
  // SQLite tells no room for the index of its log as an error of the disk.
  if (kind === 'io' && isFull(nearest)) return 'full';
  return refusalOf(nearest) ?? refusalOf(dirname(nearest)) ?? kind;
}

function refusalOf(path: string): Kind | undefined {
  try {
    accessSync(path, constants.W_OK);
    return undefined;
  } catch (error) {
    return kindOf(error as Failure);
  }
}

function isFull(path: string): boolean {
  try {
    const { bavail, bsize } = statfsSync(path);
    return bavail * bsize < 65_536;
  } catch {
    return false;
  }
}
