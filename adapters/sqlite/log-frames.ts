/** @source sqlite.org/fileformat2.html, section 4, "The Write-Ahead Log" */

export const headerBytes = 32;
const frameHeaderBytes = 24;
/** The lowest bit says that the checksums are big-endian. */
const magicNumber = 0x377f0682;
const formatVersion = 3_007_000;
/** A log begins again each 4 MB: in years it does not get so far. */
const mostRounds = 65_536;

type Sums = readonly [number, number];

/** A page as it stands in the log. */
export type Frame = {
  pageNumber: number;
  /** Of a commit: pages of the whole file after it; else 0. */
  filePages: number;
  content: Buffer;
};

export type LogContent = {
  pageBytes: number;
  /** All that can be trusted, in order, up to the last whole commit. */
  frames: Frame[];
  /** Frames before that which cannot be read; what they held is lost where no later frame has the same page. */
  unreadFrames: number;
  /** SQLite reads no further than this many of `frames`; less than all where something before them has changed. */
  readBySqlite: number;
};

/**
 * Reads a write-ahead log further than SQLite does, which stops without a word at the first thing that is not as it was
 * written: at the header, when that has changed. After a power cut that is right, the last commit was not finished. But each
 * commit is synced before the next begins, so whatever stands before a whole later commit was confirmed.
 *
 * The checksum of a frame goes on from that of the frame before, and each frame carries its own: so a frame can be checked
 * although those further back are lost. The last commit counts only when it is whole.
 *
 * @param log        the bytes of the `-wal` file
 * @param pageBytes  of the file it belongs to, for a log whose own header is lost
 * @returns undefined for a log without a frame that can be trusted
 */
export function readLog(log: Buffer, pageBytes: number): LogContent | undefined {
  if (log.length < headerBytes + frameHeaderBytes) return undefined;
  const known = headerOf(log);
  const header = known ?? rebuiltHeader(log, pageBytes);
  const size = header?.pageBytes ?? pageBytes;
  const frameBytes = frameHeaderBytes + size;
  const count = Math.floor((log.length - headerBytes) / frameBytes);
  const at = (frame: number) => headerBytes + frame * frameBytes;
  const isBigEndian = header?.isBigEndian ?? false;
  const storedSums = (frame: number): Sums => [log.readUInt32BE(at(frame) + 16), log.readUInt32BE(at(frame) + 20)];
  const sumsFrom = (frame: number, before: Sums): Sums => {
    const start = at(frame);
    const begun = checksum(log.subarray(start, start + 8), isBigEndian, before);
    return checksum(log.subarray(start + frameHeaderBytes, start + frameBytes), isBigEndian, begun);
  };
  const salts = header?.salts ?? saltsOfFirstPair(count, at, log, sumsFrom, storedSums);
  if (salts === undefined) return undefined;

  const sound: number[] = [];
  let computed: Sums | undefined = header?.sums;
  for (let frame = 0; frame < count; frame += 1) {
    const stored = storedSums(frame);
    // A frame of an earlier round of the log carries other salts.
    const isOfThisRound = log.compare(salts, 0, 8, at(frame) + 8, at(frame) + 16) === 0;
    const befores = frame === 0 ? [header?.sums] : [storedSums(frame - 1), computed];
    const isSound = (before: Sums | undefined) => before !== undefined && isSame(sumsFrom(frame, before), stored);
    if (isOfThisRound && befores.some(isSound)) {
      sound.push(frame);
      computed = stored;
    } else computed = computed === undefined ? undefined : sumsFrom(frame, computed);
  }

  const isCommit = (frame: number) => log.readUInt32BE(at(frame) + 4) !== 0;
  const isIn = new Set(sound);
  // Also of a frame that has changed: some of its salts are as they were.
  const endsCommit = (frame: number) => isCommit(frame) && (isIn.has(frame) || isAlike(salts, log, at(frame) + 8));
  // A last commit of which a frame is missing was not finished: its pages stay out.
  const end = sound.findLast((frame) => isCommit(frame) && isWholeCommit(frame, isIn, endsCommit));
  if (end === undefined) return undefined;
  const kept = sound.filter((frame) => frame <= end);
  let inARow = 0;
  while (known !== undefined && inARow < kept.length && kept[inARow] === inARow) inARow += 1;
  return {
    pageBytes: size,
    frames: kept.map((frame) => ({
      pageNumber: log.readUInt32BE(at(frame)),
      filePages: log.readUInt32BE(at(frame) + 4),
      content: log.subarray(at(frame) + frameHeaderBytes, at(frame) + frameBytes),
    })),
    unreadFrames: end + 1 - kept.length,
    readBySqlite: inARow,
  };
}

/** A log that SQLite reads to its end. `frames` end with a commit. */
export function logOf(frames: readonly Frame[], pageBytes: number): Buffer {
  const salts = Buffer.from('72657061697265642e', 'hex').subarray(0, 8);
  const header = headerWith(0, pageBytes, salts, false);
  let sums: Sums = [header.readUInt32BE(24), header.readUInt32BE(28)];
  const parts: Buffer[] = [header];
  for (const { pageNumber, filePages, content } of frames) {
    const head = Buffer.alloc(frameHeaderBytes);
    head.writeUInt32BE(pageNumber, 0);
    head.writeUInt32BE(filePages, 4);
    salts.copy(head, 8);
    sums = checksum(content, false, checksum(head.subarray(0, 8), false, sums));
    head.writeUInt32BE(sums[0], 16);
    head.writeUInt32BE(sums[1], 20);
    parts.push(head, content);
  }
  return Buffer.concat(parts);
}

type Header = { pageBytes: number; isBigEndian: boolean; salts: Buffer; sums: Sums };

function headerOf(log: Buffer): Header | undefined {
  const magic = log.readUInt32BE(0);
  const isBigEndian = (magic & 1) === 1;
  const sums = checksum(log.subarray(0, 24), isBigEndian, [0, 0]);
  if (magic >>> 1 !== magicNumber >>> 1 || !isSame(sums, [log.readUInt32BE(24), log.readUInt32BE(28)]))
    return undefined;
  return { pageBytes: log.readUInt32BE(8), isBigEndian, salts: log.subarray(16, 24), sums };
}

/** The header that the first frame goes on from: its salts stand in the frame too, the number of the round is tried out. */
function rebuiltHeader(log: Buffer, pageBytes: number): Header | undefined {
  const frame = log.subarray(headerBytes, headerBytes + frameHeaderBytes + pageBytes);
  if (frame.length < frameHeaderBytes + pageBytes || isBlank(frame)) return undefined;
  const salts = frame.subarray(8, 16);
  const stored: Sums = [frame.readUInt32BE(16), frame.readUInt32BE(20)];
  for (let round = 0; round < mostRounds; round += 1) {
    const header = headerWith(round, pageBytes, salts, false);
    const sums: Sums = [header.readUInt32BE(24), header.readUInt32BE(28)];
    const begun = checksum(frame.subarray(0, 8), false, sums);
    if (isSame(checksum(frame.subarray(frameHeaderBytes), false, begun), stored))
      return { pageBytes, isBigEndian: false, salts, sums };
  }
  return undefined;
}

function headerWith(round: number, pageBytes: number, salts: Buffer, isBigEndian: boolean): Buffer {
  const header = Buffer.alloc(headerBytes);
  header.writeUInt32BE(magicNumber, 0);
  header.writeUInt32BE(formatVersion, 4);
  header.writeUInt32BE(pageBytes, 8);
  header.writeUInt32BE(round, 12);
  salts.copy(header, 16);
  const sums = checksum(header.subarray(0, 24), isBigEndian, [0, 0]);
  header.writeUInt32BE(sums[0], 24);
  header.writeUInt32BE(sums[1], 28);
  return header;
}

/** Where header and first frame are lost: the salts of the first two frames of which one goes on from the other. */
function saltsOfFirstPair(
  count: number,
  at: (frame: number) => number,
  log: Buffer,
  sumsFrom: (frame: number, before: Sums) => Sums,
  storedSums: (frame: number) => Sums,
): Buffer | undefined {
  for (let frame = 1; frame < count; frame += 1) {
    if (isSame(sumsFrom(frame, storedSums(frame - 1)), storedSums(frame)) && !isSame(storedSums(frame), [0, 0]))
      return log.subarray(at(frame) + 8, at(frame) + 16);
  }
  return undefined;
}

/** All frames since the commit before it can be trusted. */
function isWholeCommit(end: number, isIn: ReadonlySet<number>, endsCommit: (frame: number) => boolean): boolean {
  for (let frame = end - 1; frame >= 0 && !endsCommit(frame); frame -= 1) {
    if (!isIn.has(frame)) return false;
  }
  return true;
}

function isAlike(salts: Buffer, log: Buffer, at: number): boolean {
  return salts.filter((byte, index) => log[at + index] === byte).length >= salts.length / 2;
}

function checksum(bytes: Buffer, isBigEndian: boolean, [first, second]: Sums): Sums {
  let s0 = first;
  let s1 = second;
  for (let at = 0; at + 8 <= bytes.length; at += 8) {
    s0 = (s0 + (isBigEndian ? bytes.readUInt32BE(at) : bytes.readUInt32LE(at)) + s1) >>> 0;
    s1 = (s1 + (isBigEndian ? bytes.readUInt32BE(at + 4) : bytes.readUInt32LE(at + 4)) + s0) >>> 0;
  }
  return [s0, s1];
}

function isSame(one: Sums, other: Sums): boolean {
  return one[0] === other[0] && one[1] === other[1];
}

export function isBlank(bytes: Buffer): boolean {
  return bytes.every((byte) => byte === 0);
}
