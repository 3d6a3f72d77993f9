import { hourMs } from '#rules/clock/durations.ts';
import type { MetricView } from '../../../api/room.ts';
import { whenText } from '../kit/times.ts';
import { stateWords, suddenWords, trendWords } from '../kit/words.ts';
import { foresee } from './foresight.ts';

/** What the tests foretell is there already, though the last of them was still inside: it can only be believed or tested. */
const nowMs = 5 * 60_000;

/** It may have left its band already, as far as the tests tell: nobody may call it inside. */
export function mayBeOutside(metric: MetricView, now: number): boolean {
  const { order, at } = foresee(metric, now);
  return order === 'unsure' && suddenWords(metric) === undefined && at - now < hourMs;
}

/**
 * When a row leaves its band, as its row and the headline above it both say it: the words that follow the name of the metric;
 * undefined for what is not expected to leave.
 */
export function leaveWords(metric: MetricView, now: number, zone: string): string | undefined {
  const { order, at } = foresee(metric, now);
  if (order === 'leaving')
    return at - now < nowMs ? 'has probably left its band' : `will leave its band ${whenText(at, now, zone)}`;
  if (order !== 'unsure' || suddenWords(metric) !== undefined) return undefined;
  return mayBeOutside(metric, now) ? 'may be outside its band' : `could leave its band ${whenText(at, now, zone)}`;
}

/** A row in words: what it is, and what is to come. */
export function rowWords(metric: MetricView, now: number, zone: string): { state: string; ahead: string } {
  const parts = [leaveWords(metric, now, zone), trendWords(metric)];
  return { state: stateWords(metric, now), ahead: parts.filter((part) => part !== undefined).join(', ') };
}
