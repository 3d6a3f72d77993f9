import { type DoseRise, type RiseQuantity, riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substanceNamed } from '#rules/dosing/substances.ts';
import { ofEachAnalyte } from '#rules/quantity/analyte-table.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { stockStrength } from '../../model/config/stock-strength.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';

type Stock = SystemConfig['stocks'][number];

export type Rises = Partial<Record<DemandAnalyte, number>>;

function risesOf(rise: DoseRise): Rises {
  return ofEachAnalyte(({ quantity }) => rise[quantity as RiseQuantity]);
}

/** What a weighed dose of a substance raises in the whole system; nothing for a substance nobody knows. */
export function risesFromGrams(substance: string, grams: number, volumeL: number): Rises {
  const known = substanceNamed(substance);
  return known === undefined ? {} : risesOf(riseFromDose(known, grams, volumeL));
}

/** A plan of a year is some thousand portions of the same stocks, asked for at each entry. A stock of the configuration never changes. */
const perMlKnown = new WeakMap<Stock, { volumeL: number; rises: Rises }>();

/** What a millilitre of a stock raises in the whole system. A dry product has no millilitres and raises nothing by them. */
export function risesPerMl(stock: Stock, volumeL: number): Rises {
  const known = perMlKnown.get(stock);
  if (known?.volumeL === volumeL) return known.rises;
  const rises = computedPerMl(stock, volumeL);
  perMlKnown.set(stock, { volumeL, rises });
  return rises;
}

function computedPerMl(stock: Stock, volumeL: number): Rises {
  const strength = stockStrength(stock);
  if (strength.of === 'rises')
    return Object.fromEntries(
      Object.entries(strength.raises100LByPerMl).map(([analyte, rise]) => [analyte, (rise * 100) / volumeL]),
    );
  return strength.gramsPerLitre === undefined
    ? {}
    : risesFromGrams(strength.substance, strength.gramsPerLitre / 1000, volumeL);
}

/** What millilitres of a stock raise in the whole system. */
export function risesFromStock(stock: Stock, ml: number, volumeL: number): Rises {
  return Object.fromEntries(Object.entries(risesPerMl(stock, volumeL)).map(([analyte, rise]) => [analyte, rise * ml]));
}

/** Thousands of kept doses are asked for at each entry, for three analytes each. An entry never changes. */
const risesKnown = new WeakMap<BodyOf<'dose'>, { system: SystemConfig; rises: Rises }>();

/** What a kept dose (body of a journal entry, not changed afterwards) raises, in dKH and mg/L. */
export function risesOfDose(system: SystemConfig, body: BodyOf<'dose'>): Rises {
  const known = risesKnown.get(body);
  if (known?.system === system) return known.rises;
  const rises = computedRises(system, body);
  risesKnown.set(body, { system, rises });
  return rises;
}

function computedRises(system: SystemConfig, { stock: stockId, ml, substance, grams }: BodyOf<'dose'>): Rises {
  if (stockId !== undefined && ml !== undefined) {
    const stock = system.stocks.find((each) => each.id === stockId);
    return stock === undefined ? {} : risesFromStock(stock, ml, system.volume_l);
  }
  return substance !== undefined && grams !== undefined ? risesFromGrams(substance, grams, system.volume_l) : {};
}
