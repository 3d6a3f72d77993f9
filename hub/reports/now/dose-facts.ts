import type { Advice } from '#rules/dosing/advice-types.ts';
import type { DoseFacts } from '#rules/now/facts.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import type { Entry } from '../../model/journal/journal.ts';
import { inSentence } from '../week/review/figure-words.ts';

/** What advice asks for, taken out of its type: the only place of the list that knows how advice is built. */
export type AskedByAdvice = {
  doses: DoseFacts[];
  holdBack?: string;
  /** When to test again, UTC ms. */
  retestAtMs: number;
};

/** A rounding of the measure is no dose that is missing. */
const givenShare = 0.95;

/**
 * @param plan       what is given every day of the stocks that raise this analyte, mL a day, by stock
 * @param givenToday doses entered today, of the system
 */
export function askedByAdvice(
  system: string,
  advice: Advice,
  plan: ReadonlyMap<string, number>,
  givenToday: readonly Entry<'dose'>[],
): AskedByAdvice {
  const { analyte, retestAtMs, holdBacks, kind } = advice;
  // Of a tank in which nobody ever tested it no dose is at stake.
  if (holdBacks.some(({ rule }) => rule === 'no_test')) return { doses: [], retestAtMs: Number.POSITIVE_INFINITY };
  if (kind === 'hold_back') return { doses: [], holdBack: holdBacks[0]?.text ?? advice.reason, retestAtMs };
  if (kind !== 'dose') return { doses: [], retestAtMs };
  const label = isMetric(analyte) ? inSentence(metricFacts[analyte].label) : analyte;
  const about = { system, analyte, label };
  const { maintenance, correction, product, water } = advice;
  const of = product === undefined ? '' : ` of ${product.name}`;
  const dailyMl = product === undefined ? undefined : plan.get(product.id);
  const daily = dailyMl === undefined ? {} : { daily: `${Number(dailyMl.toFixed(1))} mL a day` };
  const doses: DoseFacts[] = [];
  if (water !== undefined && (water.litresOnDay[0] ?? 0) > 0)
    doses.push({ ...about, amount: `${waterWords[water.do]} ${water.litresOnDay[0]} L`, relation: 'alone' });
  const today = correction?.amountOnDay?.[0];
  if (today !== undefined && today > 0 && !isGiven(product?.id, today, givenToday))
    doses.push({
      ...{ ...about, ...daily, amount: `Dose ${Number(today.toFixed(2))} ${correction?.unit ?? ''}${of} today` },
      relation: dailyMl === undefined ? 'alone' : 'on_top_of_daily',
    });
  const amountPerDay = maintenance?.amountPerDay;
  if (amountPerDay !== undefined)
    doses.push({
      ...{
        ...about,
        ...daily,
        amount: `Dose ${Number(amountPerDay.toFixed(2))} ${maintenance?.unit ?? ''}${of} a day`,
      },
      relation: 'instead_of_daily',
    });
  return { doses, retestAtMs };
}

const waterWords = {
  top_off_fresh: 'Top off with fresh water:',
  exchange_for_fresh: 'Exchange for fresh water:',
  top_off_with_salt_water: 'Top off with salt water:',
  exchange_for_saltier: 'Exchange for saltier water:',
} as const;

function isGiven(stock: string | undefined, amount: number, givenToday: readonly Entry<'dose'>[]): boolean {
  const given = givenToday
    .filter(({ body }) => body.stock === stock)
    .reduce((sum, { body }) => sum + (body.ml ?? 0), 0);
  return given >= amount * givenShare;
}
