import type { JournalKind, KeptEntry, Store } from '#adapters/ports/store.ts';
import type { SystemConfig } from '../model/config/schema.ts';

const kinds = [
  'test',
  'dose',
  'water_change',
  'calibration',
  'arrival',
  'plan',
  'alarm',
] as const satisfies JournalKind[];
/** Beyond so many of a kind a chart is a smear; the newest are kept. */
const mostOfAKind = 500;

/** Something that happened at a moment, to be marked on a chart. Time in UTC milliseconds, `value` in the store unit. */
export type Mark = {
  id: number;
  time: number;
  kind: (typeof kinds)[number];
  /** The metric it is about; null for what touches the whole system. */
  metric: string | null;
  value?: number;
  sd?: number;
  text: string;
};

/** What happened to a system in [fromMs, toMs), oldest first. */
export function marksOf(store: Pick<Store, 'journal'>, system: SystemConfig, fromMs: number, toMs: number): Mark[] {
  return kinds
    .flatMap((kind) => {
      const span = { kind, system: system.id, fromMs, toMs, order: 'newest', limit: mostOfAKind } as const;
      return store.journal(span).flatMap((entry) => markOf(kind, entry, system) ?? []);
    })
    .sort((a, b) => a.time - b.time);
}

function markOf(kind: Mark['kind'], entry: KeptEntry, system: SystemConfig): Mark | undefined {
  const { body } = entry;
  const base = { id: entry.id, time: entry.timeMs, kind, metric: null };
  const word = (key: string) => (typeof body[key] === 'string' ? body[key] : '');
  switch (kind) {
    case 'test':
      return {
        ...{ ...base, metric: word('analyte'), value: Number(body['value']) },
        ...(typeof body['sd'] === 'number' ? { sd: body['sd'] } : {}),
        text: `Test: ${body['given_value']} ${word('given_unit')}`.trim(),
      };
    case 'dose': {
      const name = system.stocks.find(({ id }) => id === body['stock'])?.name ?? word('stock');
      const amount = body['ml'] === undefined ? `${body['grams']} g ${word('substance')}` : `${body['ml']} mL ${name}`;
      return { ...base, text: `Dose: ${amount}` };
    }
    case 'water_change':
      return { ...base, text: `Water change: ${body['volume_l']} L` };
    case 'alarm':
      // What was done about it later would only crowd the chart.
      if (body['state'] !== 'raised' && body['state'] !== 'reraised') return undefined;
      return { ...base, metric: word('metric') || null, text: `Alarm: ${word('message')}` };
    case 'plan': {
      const name = system.stocks.find(({ id }) => id === body['stock'])?.name ?? word('stock');
      const says = body['configured'] === true ? 'as the configuration says' : `${body['ml_per_day']} mL a day`;
      return { ...base, text: `Plan: ${name}, ${says}` };
    }
    case 'calibration':
      return { ...base, text: `Calibration${word('probe') === '' ? '' : ` of ${word('probe')}`}` };
    default:
      return { ...base, text: 'Arrival' };
  }
}
