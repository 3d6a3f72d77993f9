import type { KeptEntry } from '#adapters/ports/store.ts';
import { planSegments } from '../../../judgement/estimate/standing-plan.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import { absent, known } from './figure.ts';
import type { DoseReview } from './review-schema.ts';
import type { ReviewSpan } from './review-span.ts';

const dayMs = 86_400_000;

type Sum = { what: string; unit: DoseReview['unit']; times: number; entered: number; planned: number };

/**
 * What went into the water of a system: stocks, substances weighed dry, new salt water.
 *
 * @param entries  of the system, as `readEntries` gives them
 */
export function dosesOfWeek(system: SystemConfig, entries: readonly KeptEntry[], span: ReviewSpan): DoseReview[] {
  const sums = new Map<string, Sum>();
  const sumOf = (key: string, what: string, unit: Sum['unit']): Sum => {
    const sum = sums.get(key) ?? { what, unit, times: 0, entered: 0, planned: 0 };
    sums.set(key, sum);
    return sum;
  };
  const nameOf = (stock: string) => system.stocks.find(({ id }) => id === stock)?.name ?? stock;
  const enter = (sum: Sum, amount: unknown): void => {
    if (typeof amount !== 'number' || !Number.isFinite(amount)) return;
    sum.times++;
    sum.entered += amount;
  };
  for (const { kind, timeMs, body } of entries) {
    if (timeMs < span.fromMs || timeMs >= span.asOfMs) continue;
    if (kind === 'water_change') enter(sumOf('water', 'Water changed', 'L'), body['volume_l']);
    if (kind !== 'dose') continue;
    const { stock, substance } = body;
    if (typeof stock === 'string') enter(sumOf(`stock ${stock}`, nameOf(stock), 'mL'), body['ml']);
    else if (typeof substance === 'string') {
      enter(sumOf(`dry ${substance}`, substance.replaceAll('_', ' '), 'g'), body['grams']);
    }
  }
  for (const { stock, fromMs, toMs, mlPerDay } of planSegments(system, entries, span.asOfMs)) {
    const lengthMs = Math.min(toMs, span.asOfMs) - Math.max(fromMs, span.fromMs);
    if (lengthMs > 0 && mlPerDay > 0)
      sumOf(`stock ${stock}`, nameOf(stock), 'mL').planned += (mlPerDay * lengthMs) / dayMs;
  }
  return [...sums.values()].map(({ what, unit, times, entered, planned }) => ({
    ...{ system: system.id, systemName: system.name, what, unit, times },
    entered: times === 0 ? absent('none was entered') : known(entered),
    byPlan: planned === 0 ? absent('no standing plan') : known(planned),
  }));
}
