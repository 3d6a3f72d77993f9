/** What there is to do, as data: how it is said, and the one thing that settles it. */

/** `now`: pieces in water, or a tank that asks somebody to act. `today`: before the day is over. `soon`: within days. */
export type Urgency = 'now' | 'today' | 'soon';

/** The one deed behind a line. Whoever shows the list turns it into a button, a link or a word to type. */
export type Act =
  | { do: 'acknowledge'; alarm: string }
  | { do: 'look'; system: string }
  | { do: 'arrived'; arrival: string }
  | { do: 'start_checklist'; arrival: string }
  | { do: 'start_timer' | 'step_done' | 'open_step'; arrival: string; run: string }
  | { do: 'prepare_water' | 'rack_set' | 'inspect' | 'dip_again' | 'open_arrival'; arrival: string }
  | { do: 'open_piece'; piece: string }
  | { do: 'test'; system: string; analytes: readonly string[] }
  | { do: 'dose'; system: string; analyte: string }
  | { do: 'open_batch'; batch: string }
  | { do: 'calibrate'; probe: string }
  | { do: 'compare_kit'; kit: string }
  | { do: 'refill'; system: string; stock: string };

/** A clock that runs for this deed, UTC ms. `maximumMs`: when it calls louder. */
export type Clock = { startedMs: number; endsMs: number; maximumMs?: number };

export type Deed = {
  /** The same while the same thing is to be done. */
  id: string;
  /** Id of the tank; empty for what is about the whole room. */
  tank: string;
  urgency: Urgency;
  /** What to do, in one short sentence without the tank's name. */
  what: string;
  /** Why, how much, or what comes next; never needed to understand `what`. */
  more?: string;
  /** Of a dose: beside which daily one it is given; for a line that has no room for `more`. */
  beside?: string;
  clock?: Clock;
  /** The words of the button. */
  words: string;
  act: Act;
};

/** A deed with its place in the list: lower first, then the earlier. */
export type RankedDeed = Deed & { rank: number; dueMs: number };

/**
 * The order of the list. A tank or a piece that is harmed by waiting comes before what the day asks for, and that before
 * what keeps for days.
 *
 * @source common practice, no published source
 */
export const ranks = {
  actNow: 0,
  timeOver: 1,
  timer: 2,
  pieceIll: 3,
  arrivalStep: 4,
  actToday: 5,
  testFirst: 6,
  dose: 7,
  test: 8,
  dip: 9,
  rack: 10,
  inspection: 11,
  water: 12,
  haveALook: 13,
  supplies: 14,
  ready: 15,
} as const;

/** Which part of the day a place in the order belongs to. */
export function urgencyOf(rank: number): Urgency {
  if (rank <= ranks.arrivalStep) return 'now';
  return rank < ranks.haveALook ? 'today' : 'soon';
}
