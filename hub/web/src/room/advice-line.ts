import type { AdviceView, SystemView } from '../../../http/room-view.ts';
import { amountText } from '../kit/shown-number.ts';

type Water = NonNullable<AdviceView['water']>;

const waterDeeds: Record<Water['do'], (litres: string) => string> = {
  top_off_fresh: (litres) => `top off with ${litres} of fresh water today`,
  exchange_for_fresh: (litres) => `exchange ${litres} for fresh water today`,
  top_off_with_salt_water: (litres) => `top off with ${litres} of salt water today`,
  exchange_for_saltier: (litres) => `exchange ${litres} for saltier water today`,
};

/** What advice asks for, in the one line that stands for it while it is folded: the deed, its amount and of what. */
export function adviceLine(system: SystemView, advice: AdviceView): string {
  const { kind, water, maintenance, correction, product } = advice;
  if (kind === 'hold_back') return 'test again first';
  if (kind === 'nothing') return 'nothing to do';
  if (water !== undefined) return waterDeeds[water.do](`${water.litresOnDay[0] ?? 0} L`);
  const shows = system.metrics.find(({ metric }) => metric === advice.analyte);
  const rise = (amount: number) => (shows === undefined ? '' : amountText(shows, amount, shows.value ?? 0));
  const of = product === undefined ? '' : ` of ${product.name}`;
  const measured = (amount: number, unit: string | undefined) => `${Number(amount.toFixed(2))} ${unit ?? ''}`.trim();
  const today = correction?.amountOnDay?.[0];
  const parts: string[] = [];
  if (maintenance !== undefined) {
    const { amountPerDay, unit, risePerDay } = maintenance;
    if (risePerDay <= 0) parts.push('dose nothing');
    else if (amountPerDay === undefined) parts.push(`dose ${rise(risePerDay)} a day`);
    else parts.push(`dose ${measured(amountPerDay, unit)}${of} a day`);
  }
  if (correction !== undefined) {
    const amount = today === undefined ? rise(correction.riseOnDay[0] ?? 0) : measured(today, correction.unit);
    parts.push(parts.length === 0 ? `dose ${amount}${today === undefined ? '' : of} today` : `${amount} more today`);
  }
  if (kind === 'wait') return parts.length === 0 ? 'wait' : `wait, ${parts.join(', ')}`;
  return parts.join(', ');
}
