import type { AdviceView, SystemView } from '../../../api/room.ts';
import { amountText } from '../kit/shown-number.ts';

type AdvisedWater = NonNullable<AdviceView['water']>;

const waterDeeds: Record<AdvisedWater['do'], (litres: string) => string> = {
  top_off_fresh: (litres) => `top off with ${litres} of fresh water today`,
  exchange_for_fresh: (litres) => `exchange ${litres} for fresh water today`,
  top_off_with_salt_water: (litres) => `top off with ${litres} of salt water today`,
  salt_into_drawn_off: (litres) => `dissolve salt in ${litres} of tank water and pour it back today`,
  exchange_for_saltier: (litres) => `exchange ${litres} for saltier water today`,
};

/** What advice asks for, in the one line that stands for it while it is folded: the deed, its amount and of what. */
export function adviceLine(system: SystemView, advice: AdviceView): string {
  const { kind, water, plan, today, holdBacks } = advice;
  if (kind === 'nothing') return 'nothing to do';
  if (water !== undefined && kind !== 'hold_back') return waterDeeds[water.do](`${water.litresOnDay[0] ?? 0} L`);
  const shows = system.metrics.find(({ metric }) => metric === advice.analyte);
  const rise = (amount: number) => (shows === undefined ? '' : amountText(shows, amount, shows.value ?? 0));
  const measured = ({ amountPerDay, unit, risePerDay, product }: (typeof today)[number]) =>
    amountPerDay === undefined || product === undefined
      ? rise(risePerDay)
      : `${Number(amountPerDay.toFixed(2))} ${unit ?? ''} of ${product.name}`;
  const deeds = [
    ...plan.map((dose) =>
      dose.risePerDay > 0 ? `dose ${measured(dose)} a day` : `stop ${dose.product?.name ?? 'dosing'}`,
    ),
    ...today.map((dose) => `${measured(dose)} on top today`),
  ];
  if (kind === 'hold_back') return [...deeds, holdBackDeeds[holdBacks[0]?.rule ?? ''] ?? 'test first'].join(', ');
  if (kind === 'wait') return ['wait', ...deeds].join(', ');
  return deeds.join(', ');
}

/** What to do before any dose, where that is not a test. */
const holdBackDeeds: Record<string, string> = {
  use_not_known: 'test again tomorrow',
  plan_may_not_arrive: 'look at the pump first',
  doses_not_seen: 'look at the pump first',
  container_empty: 'refill the container first',
  salinity_first: 'correct the salinity first',
  only_diluted: 'bring the salinity back first',
  may_precipitate: 'look for precipitation first',
  ph_limit: 'wait for a lower pH',
  low_ph_limit: 'raise the pH of the night first',
  saturation_limit: 'wait for a lower pH',
  other_analyte_high: 'use another product',
  product_does_not_raise: 'name the right product',
  past_solubility: 'dilute the stock first',
  too_many_doses: 'use a pump or another product',
};
