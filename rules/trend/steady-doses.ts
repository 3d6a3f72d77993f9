import type { DemandEvidence } from './demand-filter.ts';

type Evidence = { timeMs: number; evidence: DemandEvidence };

/** A rise below this share of a kit's standard deviation is one that no test sees and no eye should. */
const smallShare = 0.4;
/** A dose without a neighbour is spread over no more than this. */
const mostMs = 43_200_000;

/** True for what a plan gives all day, and for a dose too small to be seen. */
export function isSteady({ evidence }: Evidence, testSd: number): boolean {
  return evidence.is === 'dose' && (evidence.isPlanned === true || Math.abs(evidence.rise) < smallShare * testSd);
}

/**
 * What steady doses have raised up to a time, in the analyte's unit: each of them even from half-way to its neighbours.
 *
 * @param doses  oldest first
 * @returns a function of UTC ms
 */
export function steadyRise(doses: readonly Evidence[]): (timeMs: number) => number {
  const corners: { timeMs: number; risen: number }[] = [];
  let risen = 0;
  for (const [at, { timeMs, evidence }] of doses.entries()) {
    const apart = [doses[at - 1], doses[at + 1]].map((each) =>
      each === undefined ? mostMs : Math.abs(each.timeMs - timeMs),
    );
    const halfMs = Math.min(...apart, mostMs) / 2;
    corners.push({ timeMs: timeMs - halfMs, risen });
    risen += evidence.is === 'dose' ? evidence.rise : 0;
    corners.push({ timeMs: timeMs + halfMs, risen });
  }
  return (timeMs) => {
    const [first, last] = [corners[0], corners.at(-1)];
    if (first === undefined || last === undefined || timeMs <= first.timeMs) return 0;
    if (timeMs >= last.timeMs) return last.risen;
    let low = 0;
    let high = corners.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (corners[middle]!.timeMs <= timeMs) low = middle;
      else high = middle;
    }
    const [before, after] = [corners[low]!, corners[high]!];
    const width = after.timeMs - before.timeMs;
    const share = width === 0 ? 1 : (timeMs - before.timeMs) / width;
    return before.risen + share * (after.risen - before.risen);
  };
}
