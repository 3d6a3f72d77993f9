import { alongTable } from '#rules/quantity/along-table.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { ReviewFigures } from '../../../model/answers/review-schema.ts';
import type { ShownUnit } from '../../../model/settings/shown-unit.ts';
import { type Figure, known, numberOf } from './figure.ts';

/** How a metric is shown; null for the store's own unit. */
export type ShownOf = (metric: Metric) => ShownUnit | null;

type Measured = { metric: Metric; unit: string; decimals: number };
type Way = {
  /** A value. */
  at(value: number): number;
  /** How much something moves, a use in a day, an uncertainty. */
  by(amount: number): number;
};

/** Where a bent unit is taken as straight for an amount: the middle of what is kept in a reef tank. */
const amountAround = 35;

function wayOf({ points, isBent }: ShownUnit): Way {
  const at = (value: number) => alongTable(points, value);
  const around = isBent ? amountAround : 0;
  return { at, by: (amount) => at(around + amount) - at(around) };
}

const turned = (figure: Figure, turn: (value: number) => number): Figure => {
  const value = numberOf(figure);
  return value === undefined ? figure : known(turn(value));
};

/** Six digits are more than any instrument has, and hide what a conversion adds to 7.5. */
const rounded = (value: number) => Number(value.toPrecision(6));
const bandIn = (band: { low: number; high: number } | null, { at }: Way) =>
  band === null ? null : { low: rounded(at(band.low)), high: rounded(at(band.high)) };

type FiguresShown = Pick<ReviewFigures, 'bands' | 'swings' | 'demand' | 'tests'>;

/**
 * The figures of the water in the units that the keeper reads; those of metrics in the store's unit stay as they are.
 * What the review says in words is made of these, the API answers those of the store.
 */
export function inKeepersUnits<Figures extends FiguresShown>(figures: Figures, shownOf: ShownOf): Figures {
  const each = <One extends Measured>(all: readonly One[], turn: (one: One, way: Way) => Partial<One>): One[] =>
    all.map((one) => {
      const shown = shownOf(one.metric);
      if (shown === null) return one;
      return { ...one, unit: shown.unit, decimals: shown.decimals, ...turn(one, wayOf(shown)) };
    });
  return {
    ...figures,
    bands: each(figures.bands, ({ band, min, mean, max, hours }, way) => ({
      band: bandIn(band, way),
      min: turned(min, way.at),
      mean: turned(mean, way.at),
      max: turned(max, way.at),
      hours: hours.map((hour) => ({
        timeMs: hour.timeMs,
        min: way.at(hour.min),
        mean: way.at(hour.mean),
        max: way.at(hour.max),
      })),
    })),
    swings: each(figures.swings, (swing, { by }) => ({
      largestOfDay: turned(swing.largestOfDay, by),
      largestOfHour: turned(swing.largestOfHour, by),
      mostPerDay: turned(swing.mostPerDay, (most) => rounded(by(most))),
      mostPerHour: turned(swing.mostPerHour, (most) => rounded(by(most))),
      days: swing.days.map((day) => ({ date: day.date, swing: turned(day.swing, by) })),
    })),
    demand: each(figures.demand, (demand, { by }) => ({
      perDay: turned(demand.perDay, by),
      low95: turned(demand.low95, by),
      high95: turned(demand.high95, by),
      change: turned(demand.change, by),
      dosedPerDay: turned(demand.dosedPerDay, by),
      days: demand.days.map(({ timeMs, perDay, low95, high95 }) => ({
        timeMs,
        perDay: by(perDay),
        low95: by(low95),
        high95: by(high95),
      })),
    })),
    tests: each(figures.tests, (test, way) => ({
      band: bandIn(test.band, way),
      uncertainty: turned(test.uncertainty, way.by),
      tests: test.tests.map((one) => ({
        timeMs: one.timeMs,
        verdict: one.verdict,
        value: way.at(one.value),
        valueAt35: one.valueAt35 === null ? null : way.at(one.valueAt35),
        sd: one.sd === null ? null : way.by(one.sd),
      })),
    })),
  };
}
