import { dayMs } from '#rules/clock/durations.ts';
import type { TestFacts } from '#rules/now/facts.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Analyte, analytes, metricFacts } from '#rules/quantity/metric.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import type { Entry } from '../../model/journal/journal.ts';
import { inSentence } from '../week/review/figure-words.ts';
import { testEveryDays } from '../week/review/tests-of-week.ts';

/** What asks for a test beyond the keeper's rhythm. */
export type TestAsked = { analyte: string; dueMs: number; because?: string };

/**
 * When each analyte of a tank is to be tested next: by the keeper's rhythm, sooner where something asks for it.
 *
 * @param tests     of the system, oldest first
 * @param isProbed  a probe measures it: only a rhythm that the keeper has set asks for a test then
 * @param asked     tests that are wanted at a time, such as after advice or an arrival
 */
export function testFacts(
  system: SystemConfig,
  tests: readonly Entry<'test'>[],
  isProbed: (analyte: Analyte) => boolean,
  asked: readonly TestAsked[],
  dayStartMs: number,
): TestFacts[] {
  return analytes.flatMap((analyte): TestFacts[] => {
    const set = system.test_every_days[analyte];
    const hasBand = system.bands[analyte] !== undefined;
    const every = set ?? (isProbed(analyte) ? undefined : testEveryDays(system, analyte, hasBand));
    const lastMs = tests.findLast(({ body }) => body.analyte === analyte)?.timeMs;
    const own = isProbed(analyte) ? [] : asked.filter((each) => each.analyte === analyte);
    // Nobody who never tests an analyte is told to, unless the configuration says that it shall be tested.
    const byRhythm = every === undefined || (lastMs === undefined && set === undefined) ? undefined : every * dayMs;
    const wishes: TestAsked[] = [
      ...(byRhythm === undefined ? [] : [{ analyte, dueMs: lastMs === undefined ? dayStartMs : lastMs + byRhythm }]),
      // A wish of this day is met by a test of this day.
      ...own.filter(({ dueMs }) => lastMs === undefined || lastMs < Math.max(dueMs - dayMs / 2, dayStartMs)),
    ];
    const first = wishes.toSorted((one, other) => one.dueMs - other.dueMs)[0];
    if (first === undefined) return [];
    return [
      {
        system: system.id,
        analyte,
        label: inSentence(metricFacts[analyte].label),
        dueMs: first.dueMs,
        ...defined({ lastMs, because: first.because }),
      },
    ];
  });
}
