import { OutOfRange, within } from '../quantity/out-of-range.ts';
import type { DemandAnalyte } from './demand-facts.ts';
import { type DemandEvidence, startDemand, stepDemand } from './demand-filter.ts';
import type { DatedDemandEvidence } from './demand-track.ts';

/**
 * How far volumes that keepers state are from the true ones, as the standard deviation of the logarithm of their ratio: rock and sand
 * displace a tenth to a fifth, a sump is forgotten or counted full. @source common practice, no published source
 */
const statedLogSd = 0.25;
/** True volumes looked at, as logarithms of their ratio to the stated one: from 0.43 to 2.3 of it. */
const widest = 0.84;
const firstStep = 0.21;
/** Each time the place of the likeliest is looked at twice as closely. */
const refinements = 3;
/** An interval wider than this on the logarithm rests on what was taken before the doses: then they tell no volume yet. */
const mostLogSd = 0.1;

/** How well a true volume explains all tests: the logarithm of their density, by analyte. */
export type WeighedVolume = { logRatio: number; logEvidence: Partial<Record<DemandAnalyte, number>> };

export type LearnedVolume = {
  /** Expected true volume as a multiple of the stated one, and its 95 % interval. */
  ratio: number;
  low95: number;
  high95: number;
  /** False while the doses are too even, or the tests too few, to tell a volume. */
  isLearned: boolean;
};

/**
 * How well a diary is explained by a system of another volume than stated: all its doses and water changes then weigh the other way.
 *
 * Only what varies tells it: a correction on top, a pause, a changed plan. Dosing that never changes is the same as another use.
 *
 * @param diary  of one system and analyte, oldest first; rises and shares by the stated volume
 * @param logRatio  natural logarithm of true over stated volume, -3 to 3
 * @returns logarithm of the density of the tests after the first; larger explains better
 * @throws OutOfRange  as `stepDemand`
 */
export function logEvidenceOfVolume(
  analyte: DemandAnalyte,
  diary: readonly DatedDemandEvidence[],
  logRatio: number,
): number {
  const weight = Math.exp(-within('logarithm of the volume ratio', logRatio, -3, 3));
  // Of a coarse scale the errors of neighbouring tests are alike while the level stays: half a step, not the usual step / √12.
  const resolution = Math.sqrt(3) * scaleStep(diary);
  let state = startDemand({ analyte, isCoarse: true, resolution });
  for (const { timeMs, evidence } of diary) state = stepDemand(state, reweighed(evidence, weight), timeMs);
  return state.logEvidence;
}

/** The coarsest step of 1, 2 or 5 times a power of ten that all tests are whole numbers of, analyte's unit; 0 where there is none. */
export function scaleStep(diary: readonly DatedDemandEvidence[]): number {
  const values = diary.flatMap(({ evidence }) => (evidence.is === 'test' ? [evidence.value] : []));
  if (values.length < 3) return 0;
  const steps = [50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];
  return steps.find((step) => values.every((value) => isMultiple(value, step))) ?? 0;
}

function reweighed(evidence: DemandEvidence, weight: number): DemandEvidence {
  switch (evidence.is) {
    case 'dose':
      return { ...evidence, rise: evidence.rise * weight };
    case 'water_change':
      return { ...evidence, share: Math.min(1, evidence.share * weight) };
    case 'test':
      return evidence.plannedPerDay === undefined
        ? evidence
        : { ...evidence, plannedPerDay: evidence.plannedPerDay * weight };
    case 'step_expected':
      return evidence;
  }
}

/**
 * The volume to weigh next: first a wide row, then ever closer around the likeliest. Whoever asks can rest between two.
 *
 * @returns logarithm of the ratio to the stated volume; undefined when enough are weighed
 */
export function nextVolumeToWeigh(weighed: readonly WeighedVolume[]): number | undefined {
  const isWeighed = (logRatio: number): boolean => weighed.some((each) => Math.abs(each.logRatio - logRatio) < 1e-9);
  const steps = Math.round((2 * widest) / firstStep);
  const row = Array.from({ length: steps + 1 }, (_, at) => -widest + at * firstStep);
  const next = row.find((logRatio) => !isWeighed(logRatio));
  if (next !== undefined) return next;
  let step = firstStep;
  for (let times = 0; times < refinements; times += 1) {
    step /= 2;
    const best = likeliest(weighed.filter(({ logRatio }) => isMultiple(logRatio + widest, step * 2)));
    const near = [best - step, best + step].find((each) => Math.abs(each) <= widest + 1e-9 && !isWeighed(each));
    if (near !== undefined) return near;
  }
  return undefined;
}

function isMultiple(value: number, step: number): boolean {
  return Math.abs(value / step - Math.round(value / step)) < 1e-6;
}

function likeliest(weighed: readonly WeighedVolume[]): number {
  return weighed.reduce((best, each) => (logPosterior(each) > logPosterior(best) ? each : best)).logRatio;
}

function logPosterior({ logRatio, logEvidence }: WeighedVolume, only?: DemandAnalyte): number {
  const evidence =
    only === undefined ? Object.values(logEvidence).reduce((a, b) => a + b, 0) : (logEvidence[only] ?? 0);
  return evidence - (logRatio / statedLogSd) ** 2 / 2;
}

/**
 * The volume that the doses tell, by Bayes' rule over the volumes weighed.
 *
 * @param weighed  until `nextVolumeToWeigh` has no more
 * @param only  by the tests of this analyte alone; all when absent
 * @throws OutOfRange  for fewer than three
 */
export function learnedVolume(weighed: readonly WeighedVolume[], only?: DemandAnalyte): LearnedVolume {
  if (weighed.length < 3) throw new OutOfRange('volumes weighed', weighed.length, '3 or more');
  const points = weighed.map((each) => ({ x: each.logRatio, y: logPosterior(each, only) })).sort((a, b) => a.x - b.x);
  const meshes = 2000;
  const mesh = Array.from({ length: meshes + 1 }, (_, at) => -widest + (2 * widest * at) / meshes);
  const logs = mesh.map((x) => between(points, x));
  const largest = logs.reduce((a, b) => Math.max(a, b));
  const shares = logs.map((log) => Math.exp(log - largest));
  const sum = shares.reduce((a, b) => a + b, 0);
  const mean = shares.reduce((total, share, at) => total + share * mesh[at]!, 0) / sum;
  const variance = shares.reduce((total, share, at) => total + share * (mesh[at]! - mean) ** 2, 0) / sum;
  const quantile = (share: number): number => {
    let passed = 0;
    for (const [at, each] of shares.entries()) {
      passed += each / sum;
      if (passed >= share) return Math.exp(mesh[at]!);
    }
    return Math.exp(widest);
  };
  return {
    ratio: Math.exp(mean),
    low95: quantile(0.025),
    high95: quantile(0.975),
    // At the edge of what is looked at the true one may lie beyond.
    isLearned: Math.sqrt(variance) <= mostLogSd && Math.abs(mean) + 2 * Math.sqrt(variance) < widest,
  };
}

/** The parabola through the three points nearest to x: the logarithm of a normal density is one. */
function between(points: readonly { x: number; y: number }[], x: number): number {
  const after = points.findIndex((point) => point.x >= x);
  const right = after <= 0 ? 1 : after;
  const left = Math.max(0, right - 1);
  const third =
    left > 0 && (right + 1 >= points.length || x - points[left - 1]!.x < points[right + 1]!.x - x)
      ? left - 1
      : right + 1;
  const [a, b, c] = [points[left]!, points[right]!, points[third]!];
  return (
    (a.y * (x - b.x) * (x - c.x)) / ((a.x - b.x) * (a.x - c.x)) +
    (b.y * (x - a.x) * (x - c.x)) / ((b.x - a.x) * (b.x - c.x)) +
    (c.y * (x - a.x) * (x - b.x)) / ((c.x - a.x) * (c.x - b.x))
  );
}

/** True when the stated volume lies outside the 95 % interval of what the doses tell. */
export function isStatedVolumeOff({ isLearned, low95, high95 }: LearnedVolume): boolean {
  return isLearned && (low95 > 1 || high95 < 1);
}
