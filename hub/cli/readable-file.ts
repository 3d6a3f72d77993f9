import { accessSync, constants, statSync } from 'node:fs';
import { userInfo } from 'node:os';
import { Refused } from '../model/refusals/refused.ts';

/** Why a file cannot be read, in words; undefined when it can. */
export function whyUnreadable(path: string): string | undefined {
  try {
    if (statSync(path).isDirectory()) return 'this is a folder, not a file';
    accessSync(path, constants.R_OK);
    return undefined;
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR') return 'there is no such file';
    if (code === 'EACCES') return `the user ${userHere()} may not read it`;
    return message;
  }
}

/** By name; by number where the system has no name for it, as in a container. */
export function userHere(): string {
  try {
    return userInfo().username;
  } catch {
    return String(process.getuid?.() ?? '');
  }
}

/** For the files that a verb is given, before anything is done. @throws Refused wrong_usage */
export function refuseUnreadable(...paths: readonly (string | undefined)[]): void {
  for (const path of paths) {
    const why = path === undefined ? undefined : whyUnreadable(path);
    if (why !== undefined) throw new Refused('wrong_usage', `${path}: ${why}`);
  }
}
