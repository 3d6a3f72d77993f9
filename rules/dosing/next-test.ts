import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { adviceFacts } from './advice-facts.ts';
import type { AdviceInput, Predicted } from './advice-types.ts';
import type { Worked } from './advice-worked.ts';
import { type Choice, lossScale } from './control.ts';
import type { HighSide } from './high-side.ts';
import { type SoonerTest, soonerTest } from './sooner-test.ts';

/** A test is asked for no sooner than the next half day, and no later than in two weeks. Common practice, no published source */
const shortestDays = 0.5;
const longestDays = 14;
/** Tests of one sitting, taken again, tell no rhythm. */
const sittingDays = 0.2;

/** The rhythm of tests: the middle of the pauses between the last ones, else as the keeper has set it, days. */
export function testRhythmDays({ analyte, lastTests, testEveryDays }: AdviceInput): number {
  const pauses = lastTests
    .slice(1)
    .map(({ timeMs }, i) => (timeMs - lastTests[i]!.timeMs) / dayMs)
    .filter((days) => days > sittingDays)
    .sort((a, b) => a - b);
  const learned = pauses.length >= 2 ? pauses[Math.floor((pauses.length - 1) / 2)] : undefined;
  const days = learned ?? testEveryDays ?? pauses[0] ?? adviceFacts[analyte].rhythmDays;
  return Math.min(longestDays, Math.max(shortestDays, days));
}

function usualTestMs(input: AdviceInput): number {
  const rhythmMs = testRhythmDays(input) * dayMs;
  return Math.max(input.lastTests.at(-1)!.timeMs, input.nowMs - rhythmMs) + rhythmMs;
}

/** A test before the usual one, where it is worth its price. */
export function testSooner(input: AdviceInput, estimate: DemandEstimate): SoonerTest | undefined {
  const { band } = input.system;
  const scale = lossScale(band, band.mostPerDay ?? adviceFacts[input.analyte].mostPerDay);
  return soonerTest(estimate, (usualTestMs(input) - input.nowMs) / dayMs, scale);
}

/**
 * When to test again: by the rhythm, sooner where that is worth a test or the level may leave its band before, at once where the data do not carry a dose
 * or the level is too high and dosing was touched for it.
 */
export function nextTest(
  { input, estimate, holdBacks, ledger }: Worked,
  predicted: Predicted,
  choice: Choice,
  side: HighSide,
): number {
  const { nowMs, system } = input;
  const isFromData = holdBacks.some(({ rule }) => !['ph_limit', 'saturation_limit', 'too_many_doses'].includes(rule));
  // Another test of the same sitting would tell no more of the use.
  if (holdBacks.length > 0 && holdBacks.every(({ rule }) => rule === 'use_not_known'))
    return Math.max(nowMs, input.lastTests.at(-1)!.timeMs + dayMs);
  if (isFromData) return nowMs;
  const rhythmMs = testRhythmDays(input) * dayMs;
  if (side.why !== undefined) return nowMs + Math.min(rhythmMs, dayMs);
  const usual = usualTestMs(input);
  const sooner = testSooner(input, estimate);
  const worthIt = sooner === undefined ? usual : nowMs + sooner.days * dayMs;
  const mayLeave = predicted.withAdvice.find(
    (point) => point.low95 < system.band.low || point.high95 > system.band.high,
  );
  const isMoved = choice.single > 0 || ledger.beyond > 0;
  const soonest = isMoved ? nowMs + Math.min(rhythmMs, dayMs) : usual;
  return Math.max(nowMs, Math.min(usual, worthIt, soonest, Math.max(nowMs + dayMs / 2, mayLeave?.timeMs ?? usual)));
}

/** Days for a sentence. */
export function inDays(fromMs: number, toMs: number): string {
  const days = Math.max(0, Math.round((toMs - fromMs) / dayMs));
  if (days === 0) return 'today';
  return days === 1 ? 'tomorrow' : `in ${days} days`;
}

/** The label of an analyte in the middle of a sentence. */
export function inSentence(analyte: AdviceInput['analyte']): string {
  return adviceFacts[analyte].label.toLowerCase();
}
