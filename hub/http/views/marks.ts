import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Mark, markKinds } from '../../api/series.ts';
import {
  factorToCommonSalinity,
  leastDifference35,
  pastSalinity,
  type SalinityThen,
} from '../../judgement/estimate/past-salinity.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type Entry, readJournal } from '../../model/journal/journal.ts';

/** Beyond so many of a kind a chart is a smear; the newest are kept. */
const mostOfAKind = 500;
/** A test of the salinity just outside the span speaks for the water within. */
const nearbyMs = 3 * dayMs;

/** What happened to a system in [fromMs, toMs), oldest first. */
export function marksOf(
  store: Pick<Store, 'journal' | 'series' | 'summaries'>,
  system: SystemConfig,
  fromMs: number,
  toMs: number,
): Mark[] {
  const near = { kind: 'test', system: system.id, fromMs: fromMs - nearbyMs, toMs: toMs + nearbyMs } as const;
  const tests = readJournal(store, { ...near, order: 'newest', limit: mostOfAKind });
  const salinityThen = pastSalinity(store, system.id, tests, fromMs, toMs);
  return markKinds
    .flatMap((kind) => {
      const span = { kind, system: system.id, fromMs, toMs, order: 'newest', limit: mostOfAKind } as const;
      return readJournal(store, span).flatMap((entry) => markOf(entry, system, salinityThen) ?? []);
    })
    .sort((a, b) => a.time - b.time);
}

/** A pump that gives a twelfth of a day says it to more places than anybody measures. */
const digits = (amount: number): number => Number(amount.toPrecision(4));

function markOf(entry: Entry<Mark['kind']>, system: SystemConfig, salinityThen: SalinityThen): Mark | undefined {
  const base = { id: entry.id, time: entry.timeMs, kind: entry.kind, metric: null };
  const nameOf = (stock: string) => system.stocks.find(({ id }) => id === stock)?.name ?? stock;
  switch (entry.kind) {
    case 'test': {
      const { analyte, value, sd, given_value, given_unit } = entry.body;
      const factor = factorToCommonSalinity(analyte, entry.timeMs, salinityThen);
      const at35 =
        factor === undefined || Math.abs(factor - 1) < leastDifference35
          ? ''
          : ` (${Number((given_value * factor).toPrecision(3))} at salinity 35)`;
      const text = `Test: ${given_value} ${given_unit}`.trim() + at35;
      return { ...base, metric: analyte, value, ...defined({ sd }), text };
    }
    case 'dose': {
      const { stock = '', ml, substance = '', grams } = entry.body;
      return {
        ...base,
        text: `Dose: ${ml === undefined ? `${digits(grams ?? 0)} g ${substance}` : `${digits(ml)} mL ${nameOf(stock)}`}`,
      };
    }
    case 'water_change':
      return { ...base, text: `Water change: ${entry.body.volume_l} L` };
    case 'alarm': {
      const { state, metric, message } = entry.body;
      // What was done about it later would only crowd the chart.
      if (state !== 'raised' && state !== 'reraised') return undefined;
      return { ...base, metric: metric || null, text: `Alarm: ${message}` };
    }
    case 'plan': {
      const { stock, configured, ml_per_day } = entry.body;
      const says = configured ? 'as the configuration says' : `${ml_per_day} mL a day`;
      return { ...base, text: `Plan: ${nameOf(stock)}, ${says}` };
    }
    case 'calibration':
      return { ...base, text: `Calibration of ${entry.body.probe}` };
    case 'arrival':
      // What was done for the pieces since would only crowd the chart, and count as more corals.
      if (entry.body.event !== 'arrived') return undefined;
      return { ...base, text: entry.body.name === undefined ? 'Corals arrived' : `Corals arrived: ${entry.body.name}` };
  }
}
