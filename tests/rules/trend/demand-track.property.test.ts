import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type DemandEvidence, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { type DatedDemandEvidence, followDiary, startTrack, trackedState } from '#rules/trend/demand-track.ts';

const start = Date.UTC(2026, 3, 1);
const evidence: fc.Arbitrary<DemandEvidence> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.record({ is: fc.constant('test' as const), value: fc.double({ min: 5, max: 12, noNaN: true }) }),
  },
  {
    weight: 4,
    arbitrary: fc.record({ is: fc.constant('dose' as const), rise: fc.double({ min: 0.1, max: 2, noNaN: true }) }),
  },
  fc.record({ is: fc.constant('water_change' as const), share: fc.double({ min: 0.05, max: 0.5, noNaN: true }) }),
  fc.constant({ is: 'step_expected' as const }),
);
/** Entered in this order, each for its own hour: many of them later than entries of a later hour. */
const entries = fc.array(fc.record({ hour: fc.nat({ max: 400 }), evidence, isWithdrawn: fc.boolean() }), {
  minLength: 1,
  maxLength: 14,
});

const replayed = (diary: readonly DatedDemandEvidence[]) =>
  diary.reduce(
    (state, entry) => stepDemand(state, entry.evidence, entry.timeMs),
    startDemand({ analyte: 'alkalinity' }),
  );

describe('a filter that follows a diary as it is written', () => {
  it('knows what a filter knows that reads it from the first page, whatever was entered late or taken back', () => {
    fc.assert(
      fc.property(entries, (written) => {
        let track = startTrack({ analyte: 'alkalinity' });
        let diary: DatedDemandEvidence[] = [];
        const look = (): void => {
          diary = diary.toSorted((a, b) => a.timeMs - b.timeMs);
          // A store gives new objects each time.
          track = followDiary(track, structuredClone(diary));
          expect(trackedState(track)).toEqual(replayed(diary));
        };
        for (const { hour, evidence: each, isWithdrawn } of written) {
          const entry = { timeMs: start + hour * 3_600_000, evidence: each };
          diary.push(entry);
          look();
          if (!isWithdrawn) continue;
          diary = diary.filter((other) => other !== entry);
          look();
        }
      }),
      { numRuns: 40, seed: 21 },
    );
  });

  it('does not read the whole diary again for a new test, nor for a dose that was entered an hour late', () => {
    const day = 86_400_000;
    const diary: DatedDemandEvidence[] = Array.from({ length: 20 }, (_, n) => ({
      timeMs: start + n * day,
      evidence: { is: 'test' as const, value: 8 },
    }));
    const track = followDiary(startTrack({ analyte: 'alkalinity' }), diary);
    const beginning = track.marks[0]!.state;
    // A beginning that is not the true one would show if the diary were read from it.
    const marked = {
      ...track,
      marks: [
        { count: 0, state: { ...beginning, options: { analyte: 'alkalinity' as const, resolution: 77 } } },
        ...track.marks.slice(1),
      ],
    };
    const dose: DatedDemandEvidence = { timeMs: start + 18.9 * day, evidence: { is: 'dose', rise: 0.5 } };
    const late = [...diary.slice(0, 19), dose, ...diary.slice(19)];
    expect(trackedState(followDiary(marked, late)).options.resolution).toBeUndefined();
    const older = diary.with(3, { timeMs: diary[3]!.timeMs, evidence: { is: 'test', value: 8.1 } });
    expect(trackedState(followDiary(marked, older)).options.resolution).toBe(77);
  });
});
