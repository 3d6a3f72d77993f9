import { createReadStream, type ReadStream } from 'node:fs';
import { mkdir, readdir, rm, stat, statfs } from 'node:fs/promises';
import { join } from 'node:path';
import { mostPhotoBytes, photoTypes } from '../../model/entries/photo-limits.ts';
import { notStored, Refused } from '../../model/refusals/refused.ts';
import { leastFreeBytes } from './least-free.ts';
import { isPhotoName, photoKinds as kinds, writeSynced } from './photo-files.ts';
import type { Piece } from './pieces.ts';

/** Of one photo, of one piece, and of all together: pictures must not fill the disk that the readings need. */
const mostPhotosOfPiece = 24;
const mostBytesOfAll = 2 * 1024 * 1024 * 1024;

type OfPiece = Pick<Piece, 'id' | 'photos' | 'formerPhotos'>;

export type Photos = {
  /** On disk when this resolves. @returns the name of the file  @throws Refused  not_stored also when the disk is nearly full */
  save(piece: OfPiece, bytes: Buffer): Promise<string>;
  /** @throws Refused unknown_photo */
  open(name: string): Promise<{ type: string; stream: ReadStream }>;
  /** @returns whether there was one  @throws Refused not_stored */
  remove(name: string): Promise<boolean>;
};

/** Free space where the folder lies, for this user, bytes. */
async function freeBytesAt(dir: string): Promise<number> {
  const { bavail, bsize } = await statfs(dir);
  return bavail * bsize;
}

/** Photos of pieces as files in one folder. One is written after the other, so that no two take one name. */
export function createPhotos(dir: string, freeBytesOf: (dir: string) => Promise<number> = freeBytesAt): Photos {
  let last: Promise<unknown> = Promise.resolve();

  async function write({ id, photos, formerPhotos }: OfPiece, ending: string, bytes: Buffer): Promise<string> {
    try {
      await mkdir(dir, { recursive: true });
      const freeBytes = await freeBytesOf(dir);
      if (freeBytes - bytes.length < leastFreeBytes)
        throw new Refused(
          'not_stored',
          `the disk has ${mebibytes(freeBytes)} MiB free, and the last ${mebibytes(leastFreeBytes)} are for readings and entries: delete photos or make room, then send the photo again`,
        );
      const files = await readdir(dir);
      if ((await bytesIn(dir, files)) + bytes.length > mostBytesOfAll)
        throw new Refused('too_many', `the photos together would pass ${mostBytesOfAll} bytes: delete some first`);
      // No name twice, also not that of a deleted one: a backup knows a photo by its name.
      const numbers = [...files, ...photos, ...formerPhotos].map((file) => numberOf(id, file));
      const name = `${id}-${1 + Math.max(0, ...numbers)}.${ending}`;
      if (!isPhotoName(name)) throw new Refused('unknown_piece', `there is no piece "${id}"`);
      await writeSynced(join(dir, name), bytes);
      return name;
    } catch (error) {
      throw error instanceof Refused ? error : notStored(error);
    }
  }

  return {
    save(piece, bytes) {
      const kind = kinds.find((each) => each.is(bytes));
      if (kind === undefined) {
        throw new Refused('not_a_photo', `found ${bytes.length} bytes that are none of ${photoTypes.join(', ')}`);
      }
      if (bytes.length > mostPhotoBytes)
        throw new Refused('too_many', `found ${bytes.length} bytes, allowed ${mostPhotoBytes}`);
      const { length } = piece.photos;
      if (length >= mostPhotosOfPiece)
        throw new Refused(
          'too_many',
          `${piece.id} has ${length} photos, allowed ${mostPhotosOfPiece}: delete one first`,
        );
      const written = last.then(() => write(piece, kind.ending, bytes));
      last = written.catch(() => undefined);
      return written;
    },
    async open(name) {
      const kind = kinds.find(({ ending }) => name.endsWith(`.${ending}`));
      const path = join(dir, name);
      const isThere =
        isPhotoName(name) &&
        (await stat(path).then(
          (found) => found.isFile(),
          () => false,
        ));
      if (kind === undefined || !isThere)
        throw new Refused('unknown_photo', `there is no photo "${name.slice(0, 60)}"`);
      return { type: kind.type, stream: createReadStream(path) };
    },
    async remove(name) {
      if (!isPhotoName(name)) return false;
      try {
        await rm(join(dir, name));
        return true;
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code === 'ENOENT') return false;
        throw notStored(error);
      }
    },
  };
}

function mebibytes(bytes: number): number {
  return Math.floor(bytes / 1_048_576);
}

/** The number of a photo of this piece; 0 for another file. */
function numberOf(piece: string, file: string): number {
  return Number(new RegExp(`^${piece}-(\\d{1,4})\\.`).exec(file)?.[1] ?? 0);
}

async function bytesIn(dir: string, files: readonly string[]): Promise<number> {
  const sizeOf = (file: string) =>
    stat(join(dir, file)).then(
      ({ size }) => size,
      () => 0,
    );
  return (await Promise.all(files.map(sizeOf))).reduce((sum, size) => sum + size, 0);
}
