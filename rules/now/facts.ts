import type { ProtocolStepKind } from '../arrivals/protocol.ts';
import type { StandingAlarm } from '../bands/standing-alarms.ts';
import type { Clock } from './deed.ts';

/** All that the list is made of; times are UTC milliseconds. */
export type NowFacts = {
  nowMs: number;
  /** The day of the site: what is due before its end is due today. */
  dayStartMs: number;
  dayEndsMs: number;
  /** In the keeper's order. */
  tanks: readonly { id: string; name: string }[];
  alarms: readonly StandingAlarm[];
  arrivals: readonly ArrivalFacts[];
  runs: readonly RunFacts[];
  pieces: readonly IllPiece[];
  tests: readonly TestFacts[];
  doses: readonly DoseFacts[];
  /** Advice that wants a test before it speaks of a dose, and when. */
  holdBacks: readonly { system: string; analyte: string; label: string; why: string; dueMs: number }[];
  /** New lots of kits that read otherwise than the water should be, and are not compared yet. */
  lots: readonly LotFacts[];
  batches: readonly BatchFacts[];
  /** For the calm sentence: it may not say that all is well where nobody knows. */
  unheardProbes: number;
  probes: number;
  outside: readonly { system: string; label: string }[];
};

/** A checklist that is not finished. */
export type RunFacts = {
  run: string;
  arrival: string;
  arrivalName: string;
  system: string;
  /** The step at hand, its minutes where it has some, and the next. */
  step: ProtocolStepKind;
  minutes?: number;
  next?: ProtocolStepKind;
  /** What goes into a bath, or where the pieces are to stand. */
  amounts?: string;
  /** Without one the timer of a step with minutes has not been started. */
  clock?: Clock;
  /** Since when the step is at hand. */
  sinceMs: number;
};

export type ArrivalFacts = {
  arrival: string;
  name: string;
  system: string;
  state: 'expected' | 'arrived';
  expectedMs?: number;
  arrivedMs?: number;
  /** Neither a checklist was ever started nor a dip logged: the corals are still in their bags, as far as anybody knows. */
  isInBags: boolean;
  /** New salt water for it: `none` was made, it stands `unmatched` or `ready`; by when it has to be begun. */
  water?: { is: 'none' | 'unmatched' | 'ready'; litres?: number; startByMs?: number; batch?: string; why?: string };
  /** The height of today when the rack does not stand there yet. */
  rack?: { height_cm: number; day: number; days: number };
  inspection?: { dueMs: number; lookFor: string };
  /** `isLate`: its window has closed. */
  dip?: { dueMs: number; opensMs: number; isLate: boolean; pest: string };
  quarantineEndsMs?: number;
};

/** A piece of whose health something bad was written down last. */
export type IllPiece = { piece: string; name: string; system: string; sinceMs: number; what: string; first: string };

/** An analyte that is tested by hand. `dueMs`: when the next test is due; `because`: what asks for it beyond the rhythm. */
export type TestFacts = {
  system: string;
  analyte: string;
  label: string;
  dueMs: number;
  lastMs?: number;
  because?: string;
};

/** What advice asks to be given today, as it is measured out: `amount` with its unit and product. */
export type DoseFacts = {
  system: string;
  analyte: string;
  label: string;
  amount: string;
  /** How it stands to what is given every day. */
  relation: 'on_top_of_daily' | 'instead_of_daily' | 'alone';
  /** What is given every day now, such as `104 mL a day`. */
  daily?: string;
};

/** `lot`: which one, as in `lot 7 of Blue kit`; `what`: that it reads otherwise, and by how much. */
export type LotFacts = { kit: string; system: string; lot: string; what: string };

export type BatchFacts = {
  batch: string;
  system: string;
  litres: number;
  isReady: boolean;
  /** What it misses, the first of it. */
  why?: string;
  madeMs: number;
};
