/** The bands of the invented room, written here once more: the oracle shares nothing with the rules. */
const bands = { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } } as const;

export type Watched = keyof typeof bands;
type Side = 'low' | 'high' | undefined;

/** A time in which a value was out of its band. */
export type Episode = {
  what: Watched;
  side: Exclude<Side, undefined>;
  fromMs: number;
  toMs: number | undefined;
  /** The hub lived on after it was told, and had the time to store it. */
  isSure: boolean;
  isAcknowledged: boolean;
};

function sideOf(what: Watched, value: number): Side {
  const { low, high } = bands[what];
  return value > high ? 'high' : value < low ? 'low' : undefined;
}

/**
 * What must be told, from what was put in alone: values and when. A value out of its band is an alarm until a value of the same
 * kind is back.
 */
export function createExpectations() {
  const episodes: Episode[] = [];
  const open = (what: Watched) => episodes.find((each) => each.what === what && each.toMs === undefined);

  return {
    episodes,
    open,
    /** Out of its band for the second time or more, on this side: a probe's alarm may then stay when the value is back. */
    comesAndGoes: (what: Watched, side: string) =>
      what === 'temperature' && episodes.filter((each) => each.what === what && each.side === side).length >= 2,
    /**
     * What comes for the third time or more within hours, and no longer than before, need not ring: the keeper knows that it comes and goes.
     * All histories are shorter than eight hours, and a value out of its band is always as far out. A test by hand always rings.
     */
    needNotRing(episode: Episode, wasHeard: (each: Episode) => boolean, nowMs: number): boolean {
      const { what, side, fromMs } = episode;
      if (what !== 'temperature') return false;
      const earlier = episodes.filter((each) => each.what === what && each.side === side && each.fromMs < fromMs);
      const lengthOf = (each: Episode) => (each.toMs ?? nowMs) - each.fromMs;
      const longestMs = Math.max(0, ...earlier.filter(wasHeard).map(lengthOf));
      return earlier.slice(1).some(wasHeard) && lengthOf(episode) <= 1.25 * longestMs + 10 * 60_000;
    },
    /** The hub has taken what was put in then, and lived on. */
    sure(what: Watched, atMs: number): void {
      const then = episodes.findLast((each) => each.what === what && each.fromMs <= atMs);
      if (then !== undefined && (then.toMs === undefined || then.toMs > atMs)) then.isSure = true;
    },
    put(what: Watched, value: number, atMs: number, isSure: boolean): void {
      const side = sideOf(what, value);
      const now = open(what);
      if (now !== undefined && now.side === side) {
        now.isSure ||= isSure;
        return;
      }
      if (now !== undefined) now.toMs = atMs;
      if (side !== undefined)
        episodes.push({ what, side, fromMs: atMs, toMs: undefined, isSure, isAcknowledged: false });
    },
  };
}

const words: Record<Watched, RegExp> = { temperature: /temperature/i, alkalinity: /alkalinity/i };
const ways = { high: /\babove\b/, low: /\bbelow\b/ } as const;

export function isAbout({ what, side }: Pick<Episode, 'what' | 'side'>, line: string): boolean {
  return words[what].test(line) && ways[side].test(line);
}

export const isEnd = (line: string): boolean => line.startsWith('Back to normal');
