import * as z from 'zod';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { shownAs } from '#rules/words/value-text.ts';

/**
 * How the page turns a number of the store's unit into that of the keeper: a table of pairs, rising, between which is a
 * straight line. Every unit is a straight line but specific gravity, whose bend between two whole salinities is below
 * 0.00001. Beyond the table of a bent one the store's unit stands.
 */
export const shownUnitSchema = z.object({
  unit: z.string(),
  decimals: z.number(),
  isBent: z.boolean(),
  points: z.array(z.tuple([z.number(), z.number()])).describe('of the store and as shown'),
});

export type ShownUnit = z.infer<typeof shownUnitSchema>;

const bentSalinities = Array.from({ length: 41 }, (_, index) => 2 + index);

/** Null where the store's own unit is shown. */
export function shownUnit(metric: Metric, units: KeepersUnits): ShownUnit | null {
  const unit = units[metric];
  if (unit === undefined || unit === metricFacts[metric].unit) return null;
  const isBent = metric === 'salinity' && unit === 'sg';
  const shown = shownAs(metric, isBent ? 35 : 0, units);
  const stored = isBent ? bentSalinities : [0, 100];
  return {
    unit: shown.unit,
    decimals: shown.decimals,
    isBent,
    points: stored.map((value) => [value, shown.of(value)]),
  };
}
