import { effluentGain } from '#rules/dosing/calcium-reactor.ts';
import { saturatedLime_g_L } from '#rules/dosing/lime-water.ts';
import type { CarbonateAddition, SubstanceId } from '#rules/dosing/substance.ts';
import type { TestedAnalyte } from '#rules/quantity/analyte-table.ts';
import type { SystemConfig } from './schema.ts';

type Stock = SystemConfig['stocks'][number];

/** What a stock is made of, by the words of the file: a substance, or rises of 100 litres by a millilitre. */
export type StockStrength =
  | { of: 'substance'; substance: SubstanceId; gramsPerLitre?: number; isSaturated?: boolean }
  | { of: 'rises'; raises100LByPerMl: Partial<Record<TestedAnalyte, number>>; addition?: CarbonateAddition };

/** Lime water is as strong as its temperature lets it be, and effluent as its tests say. */
export function stockStrength(stock: Stock): StockStrength {
  const { substance, grams_per_litre: gramsPerLitre, top_off: topOff, effluent } = stock;
  if (substance === 'own_strength') {
    const { raises, raises_100_l_by_per_ml: perMl } = stock;
    const own = raises === undefined || perMl === undefined ? {} : { [raises]: perMl };
    return { of: 'rises', raises100LByPerMl: { ...stock.also_raises_100_l_by_per_ml, ...own } };
  }
  if (substance === 'calcium_reactor') {
    if (effluent === undefined) return { of: 'rises', raises100LByPerMl: {}, addition: 'bicarbonate' };
    const gain = effluentGain({
      alkalinity_dKH: effluent.alkalinity_dkh,
      tankAlkalinity_dKH: effluent.tank_alkalinity_dkh,
      magnesiumShare: effluent.magnesium_share,
    });
    // A millilitre is a thousandth of a litre, and goes into 100 litres.
    const of100L = (perLitre: number): number => perLitre / 1000 / 100;
    const raises = {
      alkalinity: of100L(gain.alkalinity_dKH),
      calcium: of100L(gain.calcium_mg_L),
      ...(gain.magnesium_mg_L > 0 ? { magnesium: of100L(gain.magnesium_mg_L) } : {}),
    };
    return { of: 'rises', raises100LByPerMl: raises, addition: 'bicarbonate' };
  }
  if (gramsPerLitre !== undefined) return { of: 'substance', substance, gramsPerLitre };
  if (topOff === undefined || substance !== 'calcium_hydroxide') return { of: 'substance', substance };
  const lime = topOff.saturation_share * saturatedLime_g_L(topOff.temperature_c);
  return { of: 'substance', substance, gramsPerLitre: lime, isSaturated: true };
}

/** The most that may be given of a stock in a day for each 100 litres, mL: by the file, and of lime water no more than evaporates. */
export function mostMlPerDayPer100L(stock: Stock, volumeL: number): number | undefined {
  const limits = [
    ...(stock.most_ml_per_day_per_100_l === undefined ? [] : [stock.most_ml_per_day_per_100_l]),
    ...(stock.top_off === undefined ? [] : [(stock.top_off.evaporation_l_per_day * 1000 * 100) / volumeL]),
  ];
  return limits.length === 0 ? undefined : Math.min(...limits);
}

/** A top-off gives its lime water little by little, as it evaporates, and a reactor drips all day: each half hour's share counts as a dose. */
const allDayTimesPerDay = 48;

/** The standing plan of a system: that of the file, and lime water as much as evaporates where the file says no other amount. */
export function standingPlanOf({
  stocks,
  standing_plan,
}: Pick<SystemConfig, 'stocks' | 'standing_plan'>): SystemConfig['standing_plan'] {
  const lime = stocks.flatMap(({ id, top_off }) =>
    top_off === undefined || standing_plan.some(({ stock }) => stock === id)
      ? []
      : [{ stock: id, ml_per_day: 1000 * top_off.evaporation_l_per_day, times_per_day: allDayTimesPerDay }],
  );
  const drips = new Set(stocks.filter(({ effluent }) => effluent !== undefined).map(({ id }) => id));
  const own = standing_plan.map((plan) =>
    drips.has(plan.stock) ? { ...plan, times_per_day: Math.max(plan.times_per_day, allDayTimesPerDay) } : plan,
  );
  return [...own, ...lime];
}
