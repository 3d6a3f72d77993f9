import { dayMs } from '#rules/clock/durations.ts';
import { planSegments } from '../../../judgement/estimate/standing-plan.ts';
import type { DoseReview } from '../../../model/answers/review-schema.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import { type Entry, ofKind } from '../../../model/journal/journal.ts';
import { absent, known } from './figure.ts';
import type { ReviewSpan } from './review-span.ts';

type Sum = { what: string; unit: DoseReview['unit']; times: number; entered: number; planned: number };

/**
 * What went into the water of a system: stocks, substances weighed dry, new salt water.
 *
 * @param entries  of the system, as `readEntries` gives them
 */
export function dosesOfWeek(system: SystemConfig, entries: readonly Entry[], span: ReviewSpan): DoseReview[] {
  const sums = new Map<string, Sum>();
  const sumOf = (key: string, what: string, unit: Sum['unit']): Sum => {
    const sum = sums.get(key) ?? { what, unit, times: 0, entered: 0, planned: 0 };
    sums.set(key, sum);
    return sum;
  };
  const nameOf = (stock: string) => system.stocks.find(({ id }) => id === stock)?.name ?? stock;
  const enter = (sum: Sum, amount: number | undefined): void => {
    if (amount === undefined) return;
    sum.times++;
    sum.entered += amount;
  };
  const inWeek = entries.filter(({ timeMs }) => timeMs >= span.fromMs && timeMs < span.asOfMs);
  for (const { body } of ofKind(inWeek, 'water_change')) enter(sumOf('water', 'Water changed', 'L'), body.volume_l);
  for (const { body } of ofKind(inWeek, 'dose')) {
    const { stock, ml, substance, grams } = body;
    if (stock !== undefined) enter(sumOf(`stock ${stock}`, nameOf(stock), 'mL'), ml);
    else if (substance !== undefined) enter(sumOf(`dry ${substance}`, substance.replaceAll('_', ' '), 'g'), grams);
  }
  for (const { stock, fromMs, toMs, mlPerDay } of planSegments(system, entries, span.asOfMs)) {
    const lengthMs = Math.min(toMs, span.asOfMs) - Math.max(fromMs, span.fromMs);
    if (lengthMs > 0 && mlPerDay > 0)
      sumOf(`stock ${stock}`, nameOf(stock), 'mL').planned += (mlPerDay * lengthMs) / dayMs;
  }
  return [...sums.values()].map(({ what, unit, times, entered, planned }) => ({
    system: system.id,
    systemName: system.name,
    what,
    unit,
    times,
    entered: times === 0 ? absent('none entered') : known(entered),
    byPlan: planned === 0 ? absent('no standing plan') : known(planned),
  }));
}
