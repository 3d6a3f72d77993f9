import { copyFileSync, existsSync, readFileSync } from 'node:fs';

const headerBytes = 32;
const frameHeaderBytes = 24;

/**
 * Counts the commits that SQLite will leave out of a write-ahead log because a bit before them has changed.
 *
 * SQLite reads the log up to the first frame whose checksum is wrong, and says nothing about what follows: after a power cut
 * that is right, the last commit was not finished. But each commit is synced before the next begins, so a bad frame with a
 * whole later commit behind it is damage to what was confirmed. Damage to the very last commit cannot be told from a power
 * cut in the middle of it.
 *
 * @param log  the bytes of the `-wal` file
 * @source sqlite.org/fileformat2.html, section 4, "The Write-Ahead Log"
 */
function commitsCutOff(log: Buffer): number {
  if (log.length < headerBytes + frameHeaderBytes) return 0;
  const magic = log.readUInt32BE(0);
  const isBigEndian = (magic & 1) === 1;
  const pageBytes = log.readUInt32BE(8);
  let sums = checksum(log.subarray(0, 24), isBigEndian, [0, 0]);
  const isHeaderGood =
    magic >>> 1 === 0x377f0682 >>> 1 && sums[0] === log.readUInt32BE(24) && sums[1] === log.readUInt32BE(28);
  if (!isHeaderGood) return isBlank(log) ? 0 : 1;

  const frameBytes = frameHeaderBytes + pageBytes;
  const frames = Math.floor((log.length - headerBytes) / frameBytes);
  const at = (frame: number) => headerBytes + frame * frameBytes;
  // A frame of an earlier round of the log carries other salts.
  const isOfThisRound = (frame: number) => log.compare(log, 16, 24, at(frame) + 8, at(frame) + 16) === 0;
  const isCommit = (frame: number) => log.readUInt32BE(at(frame) + 4) !== 0;

  let good = 0;
  for (; good < frames && isOfThisRound(good); good += 1) {
    const start = at(good);
    const next = checksum(log.subarray(start, start + 8), isBigEndian, sums);
    const found = checksum(log.subarray(start + frameHeaderBytes, start + frameBytes), isBigEndian, next);
    if (found[0] !== log.readUInt32BE(start + 16) || found[1] !== log.readUInt32BE(start + 20)) break;
    sums = found;
  }
  const later: number[] = [];
  for (let frame = good + 1; frame < frames; frame += 1) if (isOfThisRound(frame)) later.push(frame);
  const last = later.at(-1);
  if (last === undefined) return 0;
  const commits = [good, ...later].filter(isCommit);
  return commits[0] !== undefined && commits[0] < last ? commits.length : 0;
}

type Sums = [number, number];

function checksum(bytes: Buffer, isBigEndian: boolean, [first, second]: Sums): Sums {
  let s0 = first;
  let s1 = second;
  for (let at = 0; at + 8 <= bytes.length; at += 8) {
    s0 = (s0 + (isBigEndian ? bytes.readUInt32BE(at) : bytes.readUInt32LE(at)) + s1) >>> 0;
    s1 = (s1 + (isBigEndian ? bytes.readUInt32BE(at + 4) : bytes.readUInt32LE(at + 4)) + s0) >>> 0;
  }
  return [s0, s1];
}

/** A file that was given its length and no content yet. */
function isBlank(log: Buffer): boolean {
  return log.subarray(0, headerBytes).every((byte) => byte === 0);
}

/**
 * Looks at the log of a store before SQLite does, which would write over it. Damage is kept as a copy beside the store.
 *
 * @returns what was found, in sentences, or nothing
 */
export function logDamage(storePath: string, stamp: string): string | undefined {
  const path = `${storePath}-wal`;
  if (!existsSync(path)) return undefined;
  const lost = commitsCutOff(readFileSync(path));
  if (lost === 0) return undefined;
  const aside = `${path}.damaged-${stamp}`;
  let copied = `The log was copied to ${aside}.`;
  try {
    copyFileSync(path, aside);
  } catch (error) {
    // No room for the copy must not keep the hub from starting.
    copied = `The log could not be copied (${String(error)}).`;
  }
  return (
    `The log of ${storePath} is damaged: the last ${lost} commits before the stop cannot be read. ` +
    `Tests, doses and readings of that time are missing; look through the journal. ${copied}`
  );
}
