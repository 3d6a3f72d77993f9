import type { Store } from '#adapters/ports/store.ts';
import type { IllnessSign } from '#rules/arrivals/illness.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { localDate } from '../../model/calendar/local-day.ts';
import type { Config } from '../../model/config/schema.ts';
import type { PieceEntry, PieceEventEntry } from '../../model/entries/arrival-schemas.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, readJournal } from '../../model/journal/journal.ts';
import { type LossCause, lossCauses } from '../../model/journal/reasons.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { Refused } from '../../model/refusals/refused.ts';

/** `entry`: its id in the journal, by which it is taken back. */
export type PieceEvent = { entry: number; timeMs: number; event: string; body: Record<string, unknown> };

/** A frag or colony, as the journal tells it. */
export type Piece = {
  id: string;
  system: string;
  kind: string;
  addedMs: number;
  source?: string;
  arrival?: string;
  /** The piece that it was cut from. */
  fragOf?: string;
  place?: string;
  /** Above the sand bed, as it was last placed. */
  heightCm?: number;
  /** What was seen of it last that is not well; since when. */
  ill?: { sinceMs: number; sign: IllnessSign; note?: string };
  lost?: { timeMs: number; cause: LossCause };
  photos: string[];
  /** Names of photos that were deleted. */
  formerPhotos: string[];
  /** Oldest first. */
  events: PieceEvent[];
};

export type Losses = { lost: number; byCause: Partial<Record<LossCause, number>> };

export type Pieces = {
  add(entry: PieceEntry, nowMs: number): Piece;
  /** One event; cutting a piece adds its frags, which come back with it. */
  tell(id: string, entry: PieceEventEntry, nowMs: number): { piece: Piece; frags: Piece[] };
  addPhoto(id: string, file: string, nowMs: number): void;
  /** @returns whether a piece had it */
  dropPhoto(file: string, nowMs: number): boolean;
  /** @throws Refused unknown_piece */
  find(id: string): Piece;
  all(filter: { system?: string | undefined; arrival?: string | undefined; isHere?: boolean }): Piece[];
  /** What was lost in [fromMs, toMs) and why. */
  losses(fromMs: number, toMs: number, system?: string): Losses;
};

/** More than a large farm has; a loop that adds pieces is stopped here. */
const mostPieces = 50_000;

/** The register of pieces: the journal is its only memory, so that a correction there is one here. */
export function createPieces(config: Config, store: Pick<Store, 'commit' | 'journal'>): Pieces {
  /**
   * The piece that an entry is about: that of the older one, for a key that is there already. Of a key whose piece was taken back
   * the next one counts, so that the piece can be added again.
   */
  function keep(body: BodyOf<'piece'>, system: string, timeMs: number, nowMs: number, key?: string): Piece {
    const entry = { kind: 'piece' as const, timeMs, recordedMs: nowMs, system, body };
    if (key === undefined) return find(append(store, entry).entry.body.piece);
    for (let time = 1; ; time += 1) {
      const { piece } = append(store, { ...entry, key: time === 1 ? key : `${key}#${time}` }).entry.body;
      const found = register().get(piece);
      if (found !== undefined) return found;
    }
  }

  const register = () => piecesOf(readJournal(store, { kind: 'piece' }));

  function find(id: string): Piece {
    const piece = register().get(id);
    if (piece === undefined) throw new Refused('unknown_piece', `there is no piece "${id}"`);
    return piece;
  }

  function nextNumber(): number {
    const pieces = readJournal(store, { kind: 'piece', history: true });
    const added = pieces.filter(({ body }) => body.event === 'added');
    const highest = added.reduce((most, { body }) => Math.max(most, Number(body.piece.slice(1)) || 0), 0);
    if (added.length >= mostPieces)
      throw new Refused('too_many', `found ${added.length} pieces, allowed ${mostPieces}`);
    return highest + 1;
  }

  return {
    find,
    add(entry, nowMs) {
      if (!config.systems.some(({ id }) => id === entry.system)) throw noSystem(entry.system, config.systems);
      const { key, time, system, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      const added = { event: 'added' as const, piece: `p${nextNumber()}`, ...body };
      return keep(added, system, timeMs, nowMs, key === undefined ? undefined : `piece:${key}`);
    },
    tell(id, entry, nowMs) {
      const piece = find(id);
      const { time, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      if (piece.lost !== undefined)
        throw new Refused('not_now', `${id} was lost on ${localDate(piece.lost.timeMs, config.site.timezone)}`);
      keep({ piece: id, ...body }, piece.system, timeMs, nowMs);
      const frags: Piece[] = [];
      for (let cut = entry.event === 'fragged' ? entry.frags : 0; cut > 0; cut -= 1) {
        const { kind, source, place } = piece;
        const frag = { event: 'added' as const, piece: `p${nextNumber()}`, kind, source, place, frag_of: id };
        frags.push(keep(frag, piece.system, timeMs, nowMs));
      }
      return { piece: find(id), frags };
    },
    addPhoto(id, file, nowMs) {
      keep({ event: 'photo', piece: id, file }, find(id).system, nowMs, nowMs);
    },
    dropPhoto(file, nowMs) {
      const piece = [...register().values()].find(({ photos }) => photos.includes(file));
      if (piece === undefined) return false;
      keep({ event: 'photo_deleted', piece: piece.id, file }, piece.system, nowMs, nowMs);
      return true;
    },
    all({ system, arrival, isHere }) {
      return [...register().values()].filter(
        (piece) =>
          (system === undefined || piece.system === system) &&
          (arrival === undefined || piece.arrival === arrival) &&
          (isHere !== true || piece.lost === undefined),
      );
    },
    losses(fromMs, toMs, system) {
      const causes = [...register().values()].flatMap((piece) => {
        const isAsked = system === undefined || piece.system === system;
        const { lost } = piece;
        return isAsked && lost !== undefined && lost.timeMs >= fromMs && lost.timeMs < toMs ? [lost.cause] : [];
      });
      const counts = lossCauses.map((cause) => [cause, causes.filter((each) => each === cause).length] as const);
      const byCause = Object.fromEntries(counts.filter(([, count]) => count > 0));
      return { lost: causes.length, byCause };
    },
  };
}

function piecesOf(entries: readonly Entry<'piece'>[]): Map<string, Piece> {
  const byId = new Map<string, Piece>();
  // Of one time, what made a piece comes before what happened to it.
  const ordered = entries.toSorted((one, other) => one.timeMs - other.timeMs || one.id - other.id);
  for (const { body, timeMs, system } of ordered) {
    if (body.event !== 'added') continue;
    const { piece: id, kind, source, arrival, frag_of, place, height_cm } = body;
    byId.set(id, {
      id,
      system,
      kind,
      addedMs: timeMs,
      photos: [],
      formerPhotos: [],
      events: [],
      ...defined({ source, arrival, fragOf: frag_of, place, heightCm: height_cm }),
    });
  }
  for (const { id: entry, body, timeMs } of ordered) {
    const piece = byId.get(body.piece);
    if (piece === undefined) continue;
    const { piece: _piece, event, ...rest } = body;
    piece.events.push({ entry, timeMs, event, body: rest });
    if (body.event === 'moved') {
      piece.place = body.place;
      // Another place of which no height was told: what held before says nothing of it.
      if (body.height_cm === undefined) delete piece.heightCm;
      else piece.heightCm = body.height_cm;
    }
    if (body.event === 'ill')
      piece.ill = {
        sinceMs: piece.ill?.sinceMs ?? timeMs,
        sign: body.sign,
        ...defined({ note: body.note }),
      };
    if (body.event === 'well' || body.event === 'lost') delete piece.ill;
    if (body.event === 'lost') piece.lost = { timeMs, cause: body.cause };
    if (body.event === 'photo') piece.photos.push(body.file);
    if (body.event === 'photo_deleted') {
      piece.photos = piece.photos.filter((file) => file !== body.file);
      piece.formerPhotos.push(body.file);
    }
  }
  return byId;
}
