import type { Store } from '#adapters/ports/store.ts';
import { type Mark, markKinds } from '../api/series.ts';
import type { SystemConfig } from '../model/config/schema.ts';
import { type Entry, readJournal } from '../model/journal/journal.ts';

/** Beyond so many of a kind a chart is a smear; the newest are kept. */
const mostOfAKind = 500;

/** What happened to a system in [fromMs, toMs), oldest first. */
export function marksOf(store: Pick<Store, 'journal'>, system: SystemConfig, fromMs: number, toMs: number): Mark[] {
  return markKinds
    .flatMap((kind) => {
      const span = { kind, system: system.id, fromMs, toMs, order: 'newest', limit: mostOfAKind } as const;
      return readJournal(store, span).flatMap((entry) => markOf(entry, system) ?? []);
    })
    .sort((a, b) => a.time - b.time);
}

function markOf(entry: Entry<Mark['kind']>, system: SystemConfig): Mark | undefined {
  const base = { id: entry.id, time: entry.timeMs, kind: entry.kind, metric: null };
  const nameOf = (stock: string) => system.stocks.find(({ id }) => id === stock)?.name ?? stock;
  switch (entry.kind) {
    case 'test': {
      const { analyte, value, sd, given_value, given_unit } = entry.body;
      const text = `Test: ${given_value} ${given_unit}`.trim();
      return { ...base, metric: analyte, value, ...(sd === undefined ? {} : { sd }), text };
    }
    case 'dose': {
      const { stock = '', ml, substance = '', grams } = entry.body;
      return { ...base, text: `Dose: ${ml === undefined ? `${grams} g ${substance}` : `${ml} mL ${nameOf(stock)}`}` };
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
      return { ...base, text: 'Arrival' };
  }
}
