import {
  type DemandEvidence,
  type DemandOptions,
  type DemandState,
  demandEstimate,
  startDemand,
  stepDemand,
} from './demand-filter.ts';

/** Evidence with its time, UTC ms. */
export type DatedDemandEvidence = { timeMs: number; evidence: DemandEvidence };

/** A demand filter that follows one diary as it grows. Plain data, never changed in place. */
export type DemandTrack = {
  options: DemandOptions;
  /** The diary as last followed. */
  followed: readonly DatedDemandEvidence[];
  /** States on the way, after the first `count` entries: the beginning, some of the newest tests, and the end. */
  marks: readonly { count: number; state: DemandState }[];
  /** What was known of the demand after each of the newest tests, oldest first. */
  past: readonly { timeMs: number; demandPerDay: number; demandSd: number; testsUsed: number }[];
};

/** Tests to go back to without a replay: an entry is seldom later than this. Each holds some tens of kilobytes. */
const testsMarked = 2;
/** Two weeks of tests twice a day. */
const testsRemembered = 30;

export function startTrack(options: DemandOptions): DemandTrack {
  return { options, followed: [], marks: [{ count: 0, state: startDemand(options) }], past: [] };
}

/**
 * The track after a diary: only what is new is stepped. Where an older entry was added, taken out or changed, it goes back
 * to the last state before that, and to the beginning when none is left. The state at the end is always that of a filter
 * which saw the diary from its first entry.
 *
 * @param diary  of one system and analyte, oldest first, whole
 * @throws OutOfRange  as `stepDemand`; the track given stays good
 */
export function followDiary(track: DemandTrack, diary: readonly DatedDemandEvidence[]): DemandTrack {
  const alike = countAlike(track.followed, diary);
  const [beginning, ...kept] = track.marks.filter(({ count }) => count <= alike);
  const first = beginning ?? { count: 0, state: startDemand(track.options) };
  let { count, state } = kept.at(-1) ?? first;
  const tests = kept.filter((mark) => diary[mark.count - 1]!.evidence.is === 'test');
  const fromMs = diary[count]?.timeMs ?? Number.POSITIVE_INFINITY;
  const past = track.past.filter(({ timeMs }) => timeMs < fromMs);
  for (; count < diary.length; count++) {
    const entry = diary[count]!;
    state = stepDemand(state, entry.evidence, entry.timeMs);
    if (entry.evidence.is !== 'test') continue;
    tests.push({ count: count + 1, state });
    const known = demandEstimate(state, entry.timeMs);
    if (known === undefined) continue;
    const { demandPerDay, demandSd, testsUsed } = known;
    past.push({ timeMs: entry.timeMs, demandPerDay, demandSd, testsUsed });
  }
  const marks = [first, ...tests.slice(-testsMarked)];
  if (marks.at(-1)!.count < count) marks.push({ count, state });
  return { options: track.options, followed: diary, marks, past: past.slice(-testsRemembered) };
}

/** What the filter holds after the diary last followed. */
export function trackedState(track: DemandTrack): DemandState {
  return track.marks.at(-1)!.state;
}

function countAlike(one: readonly DatedDemandEvidence[], other: readonly DatedDemandEvidence[]): number {
  const most = Math.min(one.length, other.length);
  for (let i = 0; i < most; i++) if (!isAlike(one[i]!, other[i]!)) return i;
  return most;
}

function isAlike(one: DatedDemandEvidence, other: DatedDemandEvidence): boolean {
  if (one === other) return true;
  if (one.timeMs !== other.timeMs) return false;
  const [a, b] = [one.evidence, other.evidence];
  switch (a.is) {
    case 'test':
      return (
        b.is === 'test' &&
        a.value === b.value &&
        a.sd === b.sd &&
        a.plannedPerDay === b.plannedPerDay &&
        a.isBelow === b.isBelow
      );
    case 'dose':
      return b.is === 'dose' && a.rise === b.rise;
    case 'water_change':
      return b.is === 'water_change' && a.share === b.share && a.newLevel === b.newLevel;
    case 'step_expected':
      return b.is === 'step_expected';
  }
}
