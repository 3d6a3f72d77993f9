import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { withUnit } from '#rules/dosing/advice-facts.ts';
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
 * @param units      in which a rise is put where no stock is named for it
 * @param givenToday doses entered today, of the system
 */
export function askedByAdvice(
  system: string,
  advice: Advice,
  plan: ReadonlyMap<string, number>,
  givenToday: readonly Entry<'dose'>[],
  units: KeepersUnits,
): AskedByAdvice {
  const { analyte, retestAtMs, holdBacks, kind } = advice;
  // Of a tank in which nobody ever tested it no dose is at stake.
  if (holdBacks.some(({ rule }) => rule === 'no_test')) return { doses: [], retestAtMs: Number.POSITIVE_INFINITY };
  const holdBack = kind === 'hold_back' ? { holdBack: holdBacks[0]?.text ?? advice.reason } : {};
  const label = isMetric(analyte) ? inSentence(metricFacts[analyte].label) : analyte;
  const about = { system, analyte, label };
  /** What is given of it every day now, by the plan and by hand. */
  const dailyOf = (amount: number | undefined, unit: string | undefined): { daily?: string } =>
    amount === undefined || amount <= 0 ? {} : { daily: `${Number(amount.toFixed(1))} ${unit ?? 'mL'} a day` };
  const amountOf = ({ amountPerDay = 0, unit, product, risePerDay }: DailyAmount): string =>
    product === undefined
      ? `${analyte === 'salinity' ? '' : withUnit(analyte, risePerDay, units)} of ${label}`
      : `${Number(amountPerDay.toFixed(2))} ${unit ?? ''} of ${product.name}`;
  const doses: DoseFacts[] = [];
  const { water } = advice;
  if (kind !== 'hold_back' && water !== undefined && (water.litresOnDay[0] ?? 0) > 0)
    doses.push({ ...about, amount: `${waterWords[water.do]} ${water.litresOnDay[0]} L`, relation: 'alone' });
  for (const today of advice.today) {
    if (today.product !== undefined && isGiven(today.product.id, today.amountPerDay ?? 0, givenToday)) continue;
    const id = today.product?.id;
    const changed = advice.plan.find(({ product }) => product?.id === id);
    const daily = dailyOf(changed?.amountPerDay ?? (id === undefined ? undefined : plan.get(id)), changed?.unit);
    doses.push({
      ...about,
      ...daily,
      amount: `Dose ${amountOf(today)} today`,
      relation: daily.daily === undefined ? 'alone' : 'on_top_of_daily',
    });
  }
  // What is too high is led down even where the data carry no dose: that deed is never left out.
  for (const change of advice.plan) {
    const stop = `Stop ${change.product?.name ?? `dosing ${label}`}`;
    const amount = change.risePerDay > 0 ? `Dose ${amountOf(change)} a day` : stop;
    doses.push({ ...about, ...dailyOf(change.before.amountPerDay, change.unit), amount, relation: 'instead_of_daily' });
  }
  return { doses, ...holdBack, retestAtMs };
}

type DailyAmount = Advice['today'][number];

const waterWords = {
  top_off_fresh: 'Top off with fresh water:',
  exchange_for_fresh: 'Exchange for fresh water:',
  top_off_with_salt_water: 'Top off with salt water:',
  salt_into_drawn_off: 'Dissolve salt in tank water, pour it back:',
  exchange_for_saltier: 'Exchange for saltier water:',
} as const;

function isGiven(stock: string | undefined, amount: number, givenToday: readonly Entry<'dose'>[]): boolean {
  const given = givenToday
    .filter(({ body }) => body.stock === stock)
    .reduce((sum, { body }) => sum + (body.ml ?? 0), 0);
  return given >= amount * givenShare;
}
