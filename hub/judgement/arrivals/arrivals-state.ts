import type { ChecklistState } from '#rules/arrivals/checklist.ts';
import { noRuns } from '#rules/arrivals/checklist.ts';
import type { LightPlan } from '#rules/arrivals/light-plan.ts';
import type { MeasuredWater } from '#rules/arrivals/shock.ts';
import { dayMs } from '#rules/clock/durations.ts';

/** Pieces of one kind as they are expected or came. */
export type PiecesOfKind = { kind: string; count: number; longest_cm?: number };

/** `lookAgainMs`: something was seen, and when to look again; the next inspection answers it. */
export type Inspection = { timeMs: number; findings: string; lookAgainMs?: number };

/** A batch of new corals, from the day it is expected until its care ends. Plain data. */
export type Arrival = {
  /** Short, to be typed on a phone: a1, a2, … */
  id: string;
  /** Of the submission that made it. */
  key?: string;
  system: string;
  name: string;
  source?: string;
  pieces: PiecesOfKind[];
  state: 'expected' | 'arrived' | 'closed';
  createdMs: number;
  expectedMs?: number;
  arrivedMs?: number;
  /** What was worked out to have ready, with the salt as it was named; its checklists start with it. */
  water?: {
    baths: number;
    bathL: number;
    tankShare: number;
    rinseL: number;
    freshL: number;
    salt_g: number;
    salinity: number;
    salt?: string;
    gramsPerLitreAt35?: number;
  };
  /** Id of what is watched for. */
  pest: string;
  dipsMs: number[];
  inspections: Inspection[];
  /** Ammonia of the bags that a rising pH makes worse: their water stays out of the dip bath, and why. */
  tankOnlyBecause?: string;
  /** Kept apart from the others so long after they came. */
  quarantineDays?: number;
  /** `firstDay` is the date of day 1 in the site's zone; `movedMs` is when the rack was last set. */
  light?: { plan: LightPlan; firstDay: string; movedMs?: number };
  /** Date of the last reminders, in the site's zone. */
  remindedOn?: string;
  isDemandReported: boolean;
  /** How often it was said that they are here and taken back. */
  takenBack?: number;
};

/** What a run of a protocol knows beyond its checklist: the bath of each dip step, who is in it, its water. */
export type RunFacts = {
  runId: string;
  baths: { bathL: number }[];
  rinseL: number;
  pieces: string[];
  /** Water of the bath as it was measured by hand. */
  measured?: MeasuredWater & { timeMs: number };
  /** A configured system whose probes stand in the bath. */
  probesOf?: string;
  bag?: MeasuredWater;
  /** New water for the rinse. */
  batch?: string;
};

export type ArrivalsState = {
  nextArrival: number;
  nextRun: number;
  arrivals: Arrival[];
  checklist: ChecklistState;
  runs: RunFacts[];
};

/** Before the first arrival; numbers count from 1. */
export const emptyArrivals: ArrivalsState = { nextArrival: 1, nextRun: 1, arrivals: [], checklist: noRuns, runs: [] };

/** More than a farm takes in within years; beyond it the oldest closed one is left to the journal. */
export const mostArrivals = 500;

/** Dips, and inspections, of one arrival: two a day of a quarantine of three months. */
export const mostOfArrival = 200;

/** @returns undefined for a document that is not ours or is damaged */
export function arrivalsFromText(body: string): ArrivalsState | undefined {
  try {
    const found = JSON.parse(body) as Partial<ArrivalsState> | null;
    const isOurs =
      typeof found?.nextArrival === 'number' &&
      typeof found.nextRun === 'number' &&
      Array.isArray(found.arrivals) &&
      Array.isArray(found.runs) &&
      Array.isArray(found.checklist?.runs);
    return isOurs ? (found as ArrivalsState) : undefined;
  } catch {
    return undefined;
  }
}

/** When they may move to the others, UTC ms; undefined before they came and where nobody set a length. */
export function quarantineEndsMs({ arrivedMs, quarantineDays }: Arrival): number | undefined {
  return arrivedMs === undefined || quarantineDays === undefined ? undefined : arrivedMs + quarantineDays * dayMs;
}

/** What is said again after it was taken back is another entry than the first: it has another key. */
export function againMark({ takenBack }: Arrival): string {
  return takenBack === undefined ? '' : `~${takenBack}`;
}

export function withArrival(state: ArrivalsState, changed: Arrival): ArrivalsState {
  return { ...state, arrivals: state.arrivals.map((each) => (each.id === changed.id ? changed : each)) };
}
