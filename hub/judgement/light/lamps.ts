import type { Store } from '#adapters/ports/store.ts';
import { dailyLightIntegral, type LightDay } from '#rules/arrivals/daily-light.ts';
import { type LampChange, type LampLight, lampCautions, lampChange } from '#rules/arrivals/lamp-change.ts';
import { type CheckedProfile, checkedProfile, type ParAtHeight, parAtHeight } from '#rules/arrivals/light-profile.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import type { Config } from '../../model/config/schema.ts';
import type { LampEntry, ParEntry } from '../../model/entries/light-entry.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, readJournal } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Piece } from '../pieces/pieces.ts';
import { lightWords } from './light-words.ts';

/** A lamp with its hours, and what was measured of it, newest measurement of each height. */
export type Lamp = { name: string; sinceMs: number; onAt: string; day: LightDay; measured: ParAtHeight[] };

export type LitPiece = { id: string; kind: string; height_cm: number; par: number; dli_mol_m2: number };

export type LightNow = {
  lamp: Lamp | undefined;
  /** Daily light of each height measured, lowest first. */
  places: (ParAtHeight & { dli_mol_m2: number })[];
  /** Pieces whose height is known and lies inside the places measured. */
  pieces: LitPiece[];
  /** How to bring in the lamp of now, by the pieces' heights or those measured; undefined while there is nothing to compare. */
  change: (LampChange & { from: string; firstDayMs: number; today: number }) | undefined;
  text: string[];
  cautions: readonly string[];
};

export type Lamps = {
  hang(system: string, entry: LampEntry, nowMs: number): void;
  measure(system: string, entry: ParEntry, nowMs: number): void;
  /** @throws Refused unknown_system */
  now(system: string, nowMs: number): LightNow;
  /** The hours of light at a time; undefined before anybody told them. */
  hoursAt(system: string, timeMs: number): { onMinute: number; lightHours: number } | undefined;
};

/**
 * The lamps of each system, their hours and PAR: the journal is the only memory. PAR belongs to the lamp that hung there when it was
 * measured; a lamp of another name makes what was measured before void, other hours of the same lamp do not.
 */
export function createLamps(
  config: Config,
  store: Pick<Store, 'commit' | 'journal'>,
  piecesOf: (system: string) => readonly Piece[],
): Lamps {
  function known(system: string): void {
    if (!config.systems.some(({ id }) => id === system)) throw noSystem(system, config.systems);
  }

  function keep(
    system: string,
    body: BodyOf<'light'>,
    at: { time?: string | undefined; key?: string | undefined },
    nowMs: number,
  ) {
    known(system);
    const entry = { kind: 'light' as const, timeMs: happenedMs(at.time, nowMs), recordedMs: nowMs, system, body };
    append(store, at.key === undefined ? entry : { ...entry, key: `light:${at.key}` });
  }

  return {
    hang(system, { time, key, ...lamp }, nowMs) {
      keep(system, { event: 'lamp', ...lamp }, { time, key }, nowMs);
    },
    measure(system, { time, key, ...par }, nowMs) {
      const heights = par.places.map(({ height_cm }) => height_cm);
      if (new Set(heights).size < heights.length)
        throw new Refused('out_of_range', `found heights ${heights.join(', ')}; one PAR for each height`);
      keep(system, { event: 'par', ...par }, { time, key }, nowMs);
    },
    now(system, nowMs) {
      known(system);
      const lamps = lampsOf(readJournal(store, { kind: 'light', system }).filter(({ timeMs }) => timeMs <= nowMs));
      return lightOf(lamps, piecesOf(system), nowMs);
    },
    hoursAt(system, timeMs) {
      const lamp = readJournal(store, { kind: 'light', system }).findLast(
        (entry) => entry.body.event === 'lamp' && entry.timeMs <= timeMs,
      )?.body;
      if (lamp?.event !== 'lamp') return undefined;
      return {
        onMinute: minuteOf(lamp.on_at),
        lightHours: lamp.full_hours + lamp.ramp_up_hours + lamp.ramp_down_hours,
      };
    },
  };
}

const minuteOf = (clock: string): number => Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));

/** Every setting of every lamp, oldest first, each with what is measured of it. */
function lampsOf(entries: readonly Entry<'light'>[]): Lamp[] {
  const lamps: Lamp[] = [];
  for (const { body, timeMs } of entries) {
    const last = lamps.at(-1);
    if (body.event === 'lamp') {
      const {
        name,
        on_at: onAt,
        full_hours: fullHours,
        ramp_up_hours: rampUpHours,
        ramp_down_hours: rampDownHours,
      } = body;
      const measured = last?.name === name ? [...last.measured] : [];
      lamps.push({ name, sinceMs: timeMs, onAt, day: { fullHours, rampUpHours, rampDownHours }, measured });
      continue;
    }
    if (last === undefined) continue;
    const newer = body.places.map(({ height_cm, par }) => ({ height_cm, par_umol_m2_s: par }));
    const kept = last.measured.filter((old) => !newer.some(({ height_cm }) => height_cm === old.height_cm));
    last.measured = [...kept, ...newer].sort((a, b) => a.height_cm - b.height_cm);
  }
  return lamps;
}

function lightOf(lamps: readonly Lamp[], pieces: readonly Piece[], nowMs: number): LightNow {
  const lamp = lamps.at(-1);
  const lit = lamp && litBy(lamp);
  const places = (lamp?.measured ?? []).map((place) => ({
    ...place,
    dli_mol_m2: dailyLightIntegral(place.par_umol_m2_s, lamp!.day),
  }));
  const placed = pieces.flatMap(({ id, kind, heightCm, lost }) =>
    heightCm === undefined || lost !== undefined ? [] : [{ id, kind, height_cm: heightCm }],
  );
  const litPieces = placed.flatMap((piece): LitPiece[] => {
    if (lit === undefined || !isInside(lit.places, piece.height_cm)) return [];
    const par = parAtHeight(lit.places, piece.height_cm);
    return [{ ...piece, par, dli_mol_m2: dailyLightIntegral(par, lit.day) }];
  });
  const change = changeOf(
    lamps,
    placed.map(({ height_cm }) => height_cm),
    nowMs,
  );
  const found = { lamp, places, pieces: litPieces, change };
  return {
    ...found,
    ...lightWords(found, placed.length),
    cautions: change === undefined || change.days.length === 1 ? [] : lampCautions,
  };
}

/** Undefined with fewer than two heights measured, or PAR that does not rise with height. */
function litBy({ measured, day }: Lamp): LampLight | undefined {
  try {
    return { places: checkedProfile({ kind: 'measured', pairs: measured }), day };
  } catch (error) {
    if (error instanceof OutOfRange) return undefined;
    throw error;
  }
}

const isInside = (places: CheckedProfile, height_cm: number): boolean =>
  height_cm >= places[0]!.height_cm && height_cm <= places.at(-1)!.height_cm;

function changeOf(lamps: readonly Lamp[], heights: readonly number[], nowMs: number): LightNow['change'] {
  const [before, after] = [lamps.at(-2), lamps.at(-1)];
  if (before === undefined || after === undefined) return undefined;
  const [had, has] = [litBy(before), litBy(after)];
  if (had === undefined || has === undefined) return undefined;
  const inBoth = (height: number): boolean => isInside(had.places, height) && isInside(has.places, height);
  // Without pieces whose height is known the heights that were measured stand for them.
  const placed = [...new Set(heights)].filter(inBoth);
  const used =
    placed.length > 0 ? placed : [...had.places, ...has.places].map(({ height_cm }) => height_cm).filter(inBoth);
  if (used.length === 0) return undefined;
  const change = orRefused(() => lampChange(had, has, [...new Set(used)]));
  return {
    ...change,
    from: before.name,
    firstDayMs: after.sinceMs,
    today: Math.floor((nowMs - after.sinceMs) / dayMs) + 1,
  };
}
