import { alkalinityFromTitration, type TitrationAnswer, type TitrationVerdict } from './alkalinity-from-titration.ts';
import { type Co2Hold, carbonateTellsFrom_ph, co2Hold, type FoundByFit, type HeldBeaker } from './co2-hold.ts';
import { granAlkalinity_umol_kg } from './gran.ts';
import {
  type AcidPortion,
  type GuidedBeaker,
  type GuidedDeed,
  type GuidedPoint,
  type GuidedSetup,
  guidedBeaker,
  guidedRun,
  type StopReason,
} from './guided-setup.ts';
import { type GuidedWarning, warningsOf } from './guided-warnings.ts';
import { bottom_ph, nextLargePortion_g, nextSmallPortion_g, smallPortionsFrom_ph, toScale } from './next-acid.ts';
import { type BeakerReading, type ProbeAtRest, probeAtRest } from './probe-at-rest.ts';
import { fewestPoints } from './run-faults.ts';

/** What has happened so far. `goneOnMs`: a person ended the wait for the CO2. */
export type GuidedPast = {
  startedMs: number;
  portions: readonly AcidPortion[];
  readings: readonly BeakerReading[];
  goneOnMs?: number;
};

export type Guidance = {
  deed: GuidedDeed;
  probe: ProbeAtRest;
  acid: number;
  points: GuidedPoint[];
  hold: (Co2Hold & { isNow: boolean }) | undefined;
  /** Undefined while there are no points from which to fit. */
  verdict: TitrationVerdict | undefined;
  /** Gran's line through the same points. */
  gran_umol_kg: number | undefined;
  warnings: GuidedWarning[];
};

/** Large portions need no probe at rest, since CO2 that leaves lifts the pH meanwhile. Chosen here, for that reason. */
const restOfLarge_ph = 0.02;
const longEnoughForLarge_ms = 60_000;
/** From so many points on the interval is judged by whether it shrinks. Common practice, no published source */
const pointsToJudge = 8;
/** And from this pH down, so that the points reach along the curve. Chosen here: a higher end leaves slope and offset unknown. */
const judgeFrom_ph = 3.4;
/** A point that narrows the interval by less than this share is not worth its minute. Chosen here. */
const worthAPoint = 0.05;

type Portion = { acid: number; sinceMs: number; untilMs: number | undefined; readings: BeakerReading[] };

/**
 * Guides a titration of seawater with a person's own pH probe: from all that has happened it says the one thing to do now, and
 * what is known of the alkalinity so far. Large portions down to about pH 4.4, a wait while the CO2 leaves, small portions to pH 3
 * with the probe at rest at each, until the uncertainty no longer shrinks.
 *
 * @param past   portions and readings in the order of time
 * @param nowMs  not before the last of them
 * @throws OutOfRange  for a setup that `guidedBeaker` refuses
 * @source Dickson, Sabine & Christian 2007, SOP 3b, with the wait for the probe by eye made into a rule
 */
export function guideTitration(setup: GuidedSetup, past: GuidedPast, nowMs: number): Guidance {
  const beaker = guidedBeaker(setup);
  if ('kind' in beaker) throw new RangeError(beaker.why);
  const portions = portionsOf(past);
  const current = portions.at(-1)!;
  const held = holdOf(setup, past, beaker, portions, nowMs);
  const points = portions.flatMap((portion) =>
    pointOf(portion, held?.portion === portion ? held.endMs : undefined, nowMs),
  );
  const counted = held?.hold.isOver === true ? points.filter(({ acid }) => acid >= held.portion.acid) : [];
  const probe = probeNow(current, held, nowMs);
  const first = counted.length < fewestPoints ? undefined : fitted(setup, counted, 0);
  // With the alkalinity known, what left of the CO2 shows better than while it left.
  const found = foundBy(first);
  const hold = found === undefined ? held?.hold : holdOf(setup, past, beaker, portions, nowMs, found)?.hold;
  const leftAtMost = hold?.leftAtMost ?? 1;
  const verdict = first?.kind === 'answer' ? fitted(setup, counted, leftAtMost) : first;
  const deed = nextDeed({ setup, beaker, current, held, counted, probe, verdict, leftAtMost, nowMs });
  const inGrams = counted.map(({ acid, ph }) => ({ acid_g: acid * beaker.gramsOfUnit, reading: ph }));
  const gran_umol_kg =
    verdict === undefined ? undefined : granAlkalinity_umol_kg(inGrams, beaker.sample_g, beaker.acid_mol_kg);
  return {
    deed,
    probe,
    acid: current.acid,
    points,
    verdict,
    gran_umol_kg,
    hold: hold && { ...hold, isNow: held?.portion === current && !hold.isOver },
    warnings: warningsOf({
      setup,
      probe,
      current,
      points,
      counted,
      hold,
      verdict,
      gran_umol_kg,
      deed,
      nowMs,
      acidToEquivalence:
        (1e-6 * setup.expected_umol_kg.value * beaker.sample_g) / beaker.acid_mol_kg / beaker.gramsOfUnit,
    }),
  };
}

function portionsOf({ startedMs, portions, readings }: GuidedPast): Portion[] {
  const starts: AcidPortion[] = [{ timeMs: startedMs, amount: 0 }, ...portions];
  let acid = 0;
  return starts.map(({ timeMs, amount }, index) => {
    acid = Number((acid + amount).toPrecision(12));
    const next = starts[index + 1];
    const untilMs = next?.maybeInSinceMs ?? next?.timeMs;
    const end = untilMs ?? Number.POSITIVE_INFINITY;
    const own = readings.filter((reading) => reading.timeMs >= timeMs && reading.timeMs < end);
    return { acid, sinceMs: timeMs, untilMs, readings: own };
  });
}

type Held = { portion: Portion; hold: Co2Hold; endMs: number; heldAt_ph: number };

/** The wait for the CO2: with the first acid that brought the sample to where small portions begin. */
function holdOf(
  setup: GuidedSetup,
  past: GuidedPast,
  beaker: GuidedBeaker,
  portions: readonly Portion[],
  nowMs: number,
  found?: FoundByFit,
): Held | undefined {
  let before: HeldBeaker['before'];
  for (const portion of portions.slice(1)) {
    const { sinceMs, untilMs, readings, acid } = portion;
    const first = firstRest(portion, nowMs);
    const acid_g = acid * beaker.gramsOfUnit;
    if (first === undefined || first.ph > smallPortionsFrom_ph) {
      if (first !== undefined && first.ph <= carbonateTellsFrom_ph) before = { acid_g, ph: first.ph };
      continue;
    }
    const goneOnMs = past.goneOnMs !== undefined && past.goneOnMs >= sinceMs ? past.goneOnMs : undefined;
    const cutMs = Math.min(goneOnMs ?? Number.POSITIVE_INFINITY, untilMs ?? Number.POSITIVE_INFINITY);
    const endMs = Math.min(cutMs, nowMs);
    const held = { ...beaker, acid_g, before };
    const hold = co2Hold(held, readings, sinceMs, endMs, cutMs <= nowMs, setup.airing, found);
    const last = probeAtRest(
      readings.filter(({ timeMs }) => timeMs <= nowMs),
      sinceMs,
      nowMs,
    );
    return { portion, hold, endMs: untilMs ?? nowMs, heldAt_ph: 'ph' in last ? last.ph : first.ph };
  }
  return undefined;
}

/** What a large portion came to, as soon as it can be told. */
function firstRest({ readings, sinceMs, untilMs }: Portion, nowMs: number): { ph: number } | undefined {
  const endMs = untilMs ?? nowMs;
  const rest = probeAtRest(readings, sinceMs, endMs, restOfLarge_ph);
  if (!('ph' in rest)) return undefined;
  // A next portion, or time, has ended the wait.
  const isTaken = rest.state === 'at_rest' || untilMs !== undefined || endMs - sinceMs >= longEnoughForLarge_ms;
  return isTaken ? rest : undefined;
}

/** What the probe came to with a portion: by its last readings before the next one. */
function pointOf(portion: Portion, heldUntilMs: number | undefined, nowMs: number): GuidedPoint[] {
  const { acid, sinceMs, untilMs, readings } = portion;
  const endMs = heldUntilMs ?? untilMs ?? nowMs;
  const rest = probeAtRest(readings, sinceMs, endMs);
  if (!('ph' in rest)) return [];
  const isAtRest = rest.state === 'at_rest';
  // What still moves may come to rest yet; of what is past there is nothing better.
  if (!isAtRest && untilMs === undefined) return [];
  return [{ timeMs: readings.at(-1)!.timeMs, acid, ph: rest.ph, sd_ph: rest.sd_ph, isAtRest }];
}

function foundBy(verdict: TitrationVerdict | undefined): FoundByFit | undefined {
  if (verdict?.kind !== 'answer' || verdict.electrode.signal !== 'ph') return undefined;
  return { totalAlkalinity_umol_kg: verdict.totalAlkalinity_umol_kg, offset_ph: verdict.electrode.phOffset };
}

function probeNow(current: Portion, held: Held | undefined, nowMs: number): ProbeAtRest {
  const isLarge = held === undefined;
  return probeAtRest(current.readings, current.sinceMs, nowMs, isLarge ? restOfLarge_ph : undefined);
}

function fitted(setup: GuidedSetup, points: readonly GuidedPoint[], leftAtMost: number): TitrationVerdict {
  return alkalinityFromTitration(guidedRun(setup, points, leftAtMost));
}

type Standing = {
  setup: GuidedSetup;
  beaker: GuidedBeaker;
  current: Portion;
  held: Held | undefined;
  counted: readonly GuidedPoint[];
  probe: ProbeAtRest;
  verdict: TitrationVerdict | undefined;
  leftAtMost: number;
  nowMs: number;
};

function nextDeed(standing: Standing): GuidedDeed {
  const { setup, beaker, current, held, probe, nowMs } = standing;
  const acid_g = current.acid * beaker.gramsOfUnit;
  const add = (grams: number, size: 'large' | 'small'): GuidedDeed => {
    const amount = toScale(grams / beaker.gramsOfUnit, setup.acidStep);
    return { do: 'add', amount, total: Number((current.acid + amount).toPrecision(12)), size };
  };
  const waiting = { do: 'wait' as const, for: 'probe' as const, sinceMs: current.sinceMs };
  if (held === undefined) {
    const rest = firstRest(current, nowMs);
    if (rest === undefined) return waiting;
    return add(nextLargePortion_g(beaker, setup.expected_umol_kg, acid_g, rest.ph), 'large');
  }
  if (!held.hold.isOver) return { ...waiting, for: 'co2' };
  if (probe.state !== 'at_rest') return waiting;
  const why = reasonToStop(standing, probe.ph);
  if (why !== undefined) return { do: 'stop', why };
  return add(nextSmallPortion_g(beaker, acid_g, probe.ph, held.heldAt_ph), 'small');
}

function reasonToStop(standing: Standing, ph: number): StopReason | undefined {
  const { setup, counted, verdict, leftAtMost } = standing;
  const answer = verdict?.kind === 'answer' ? verdict : undefined;
  const offset = answer?.electrode.signal === 'ph' ? answer.electrode.phOffset : 0;
  if (ph - offset <= bottom_ph) return 'bottom';
  if (answer === undefined || answer.points_used < pointsToJudge || ph - offset > judgeFrom_ph) return undefined;
  const before = [1, 2].map((back) => fitted(setup, counted.slice(0, -back), leftAtMost));
  return isWorthNoMore([answer, ...before]) ? 'narrow' : undefined;
}

/** Newest first: whether neither of the last two points has narrowed the interval by what a point is worth. */
function isWorthNoMore(verdicts: readonly TitrationVerdict[]): boolean {
  const widths = verdicts.filter((each): each is TitrationAnswer => each.kind === 'answer');
  if (widths.length < verdicts.length) return false;
  return widths.slice(1).every(({ halfWidth95_umol_kg: earlier }, index) => {
    const later = widths[index]!.halfWidth95_umol_kg;
    return later > (1 - worthAPoint) * earlier;
  });
}
