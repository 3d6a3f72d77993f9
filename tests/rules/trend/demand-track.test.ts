import { describe, expect, it } from 'vitest';
import { type DemandEvidence, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { type DatedDemandEvidence, followDiary, startTrack, trackedState } from '#rules/trend/demand-track.ts';

// The other side of each comparison is the same diary filtered from its beginning; its numbers are invented.

const options = { analyte: 'alkalinity' } as const;
const start = Date.UTC(2026, 3, 1);
const at = (day: number, evidence: DemandEvidence): DatedDemandEvidence => ({
  timeMs: start + day * 86_400_000,
  evidence,
});
/** One entry of each kind, and tests about them: an invented diary. */
const diary: readonly DatedDemandEvidence[] = [
  at(0, { is: 'test', value: 8 }),
  at(1, { is: 'dose', rise: 0.5 }),
  at(2, { is: 'test', value: 7.9, sd: 0.1 }),
  at(3, { is: 'water_change', share: 0.2, newLevel: 9 }),
  at(4, { is: 'step_expected' }),
  at(5, { is: 'water_change', share: 0.1 }),
  at(6, { is: 'test', value: 7.7, sd: 0.1 }),
  at(7, { is: 'dose', rise: 0.3 }),
];
const replayed = (entries: readonly DatedDemandEvidence[]) =>
  entries.reduce((state, { evidence, timeMs }) => stepDemand(state, evidence, timeMs), startDemand(options));
const followed = followDiary(startTrack(options), diary);

describe('a diary in which one page was changed', () => {
  const changes: [string, number, DatedDemandEvidence][] = [
    ['the time of a test', 2, at(2.1, { is: 'test', value: 7.9, sd: 0.1 })],
    ['the value of a test', 2, at(2, { is: 'test', value: 7.5, sd: 0.1 })],
    ['the doubt of a test', 2, at(2, { is: 'test', value: 7.9, sd: 0.3 })],
    ['the doubt of a test, taken out', 2, at(2, { is: 'test', value: 7.9 })],
    ['the size of a dose', 1, at(1, { is: 'dose', rise: 0.6 })],
    ['the share of a water change', 3, at(3, { is: 'water_change', share: 0.3, newLevel: 9 })],
    ['the level of new water', 3, at(3, { is: 'water_change', share: 0.2, newLevel: 9.5 })],
    ['the level of new water, put in', 5, at(5, { is: 'water_change', share: 0.1, newLevel: 9.5 })],
    ['a dose made a test', 1, at(1, { is: 'test', value: 0.5 })],
    ['a test made a dose', 2, at(2, { is: 'dose', rise: 7.9 })],
    ['a water change made an arrival', 3, at(3, { is: 'step_expected' })],
    ['an arrival made a water change', 4, at(4, { is: 'water_change', share: 0.2 })],
    ['an arrival made a dose', 4, at(4, { is: 'dose', rise: 0.2 })],
    ['the last dose', 7, at(7, { is: 'dose', rise: 0.4 })],
  ];
  it.each(changes)('is still believed as it was: %s', (_, place, entry) => {
    const changed = diary.with(place, entry);
    expect(trackedState(followDiary(followed, changed))).toEqual(replayed(changed));
    expect(trackedState(followDiary(followed, changed))).not.toEqual(trackedState(followed));
  });

  it.each([
    ['the last entry is taken back', diary.slice(0, 7)],
    ['all but the first are taken back', diary.slice(0, 1)],
    ['all are taken back', []],
    ['one more is written', [...diary, at(8, { is: 'test', value: 7.8 })]],
    ['one is written between', diary.toSpliced(3, 0, at(2.5, { is: 'dose', rise: 0.2 }))],
    ['nothing changes', structuredClone(diary)],
  ])('is other than a filter that reads it from the first page: %s', (_, changed) => {
    const track = followDiary(followed, changed);
    expect(trackedState(track)).toEqual(replayed(changed));
    expect(track).toMatchObject({ options, followed: changed });
    // And once more after that.
    expect(trackedState(followDiary(track, diary))).toEqual(replayed(diary));
  });
});

describe('what is kept of a diary', () => {
  it('grows with it, or is so little that each dose reads it anew', () => {
    // The beginning, the two newest tests, and the end where that is no test.
    expect(followed.marks.map(({ count }) => count)).toEqual([0, 3, 7, 8]);
    expect(followDiary(startTrack(options), diary.slice(0, 7)).marks.map(({ count }) => count)).toEqual([0, 3, 7]);
    expect(followDiary(startTrack(options), []).marks.map(({ count }) => count)).toEqual([0]);
    // What is followed entry by entry keeps the same.
    const stepwise = diary.reduce((track, _, n) => followDiary(track, diary.slice(0, n + 1)), startTrack(options));
    expect(stepwise).toEqual(followed);
    // The states on the way are those of the very entries.
    for (const { count, state } of followed.marks) expect(state).toEqual(replayed(diary.slice(0, count)));
  });

  it('a page that says the same in new words is read anew from the first', () => {
    // A state that is not the true one would show if anything but the last were read from.
    const wrong = { analyte: 'magnesium' } as const;
    const marks = followed.marks.map((mark, n) =>
      n < followed.marks.length - 1 ? { ...mark, state: startDemand(wrong) } : mark,
    );
    const known = { ...followed, options: wrong, marks };
    for (const pages of [diary, structuredClone(diary)]) {
      expect(trackedState(followDiary(known, pages))).toEqual(replayed(diary));
      // And a new test is stepped from there.
      const longer = [...pages, at(8, { is: 'test', value: 7.8 })];
      expect(trackedState(followDiary(known, longer))).toEqual(replayed(longer));
    }
    expect(trackedState(startTrack(options))).toEqual(startDemand(options));
  });

  it('a store that lost the beginning starts from another state', () => {
    const without = { ...followed, marks: followed.marks.slice(1) };
    const changed = diary.with(1, at(1, { is: 'dose', rise: 0.9 }));
    expect(trackedState(followDiary(without, changed))).toEqual(replayed(changed));
  });
});
