import { ofEachAnalyte } from '#rules/quantity/analyte-table.ts';
import { type Analyte, analytes, metricFacts } from '#rules/quantity/metric.ts';
import type { SystemView } from '../../../api/room.ts';
import type { EntryPath } from '../kit/unsent.ts';

export const entryKinds = ['test', 'dose', 'water_change'] as const;
export type EntryKind = (typeof entryKinds)[number];
/** What has a form of its own where it is first entered, and this one when it is corrected. */
export type CorrectedKind = EntryKind | 'plan' | 'refill';

/** What can be entered: an analyte with the units its tests come in, a stock in millilitres, or litres of water. */
export type Choice = { id: string; label: string; units: readonly string[] };

/** The units that a test of each may come in, the usual one first. */
const testUnits: Record<Analyte, readonly string[]> = {
  ...ofEachAnalyte(({ kitUnits }) => kitUnits),
  salinity: ['', 'sg', 'g/kg'],
  ph: [''],
  temperature: ['°C', '°F'],
  room_co2: ['ppm'],
};

export const tested: readonly Choice[] = analytes.map((id) => ({
  id,
  label: metricFacts[id].label,
  units: testUnits[id],
}));

export const kindWords: Record<CorrectedKind, { thing: string; what: string; value: string; missing: string }> = {
  test: { thing: 'test', what: 'What', value: 'Value', missing: 'Enter the test result.' },
  dose: { thing: 'dose', what: 'Of what', value: 'Amount', missing: 'Enter how much was given.' },
  water_change: {
    thing: 'water change',
    what: 'What',
    value: 'Amount',
    missing: 'Enter how many litres were changed.',
  },
  plan: { thing: 'plan', what: 'Of what', value: 'Plan', missing: 'Enter how many millilitres a day; 0 ends it.' },
  refill: { thing: 'refill', what: 'Of what', value: 'Filled to', missing: 'Enter how many millilitres are in it.' },
};

/** A unit as it stands in the list of a form: a salinity has no unit, and a specific gravity is none either. */
export function unitName(unit: string): string {
  if (unit === '') return 'practical salinity';
  return unit === 'sg' ? 'specific gravity' : unit;
}

/** @param corrected  what the entry is of that is corrected: a substance that was weighed dry is none of the stocks */
export function choicesOf(kind: CorrectedKind, system: SystemView, corrected?: string): readonly Choice[] {
  if (kind === 'test') return tested;
  if (kind === 'water_change') return [{ id: 'water', label: 'Water change', units: ['L'] }];
  const unit = kind === 'plan' ? 'mL a day' : 'mL';
  const stocks = system.stocks.map(({ id, name }) => ({ id, label: name, units: [unit] }));
  const isDry = kind === 'dose' && corrected !== undefined && !stocks.some(({ id }) => id === corrected);
  return isDry ? [...stocks, { id: corrected, label: dryName(corrected), units: [dry] }] : stocks;
}

/** The unit of what is weighed dry. */
const dry = 'g';

/** A substance that is weighed dry, as a person says it. */
export function dryName(substance: string): string {
  return substance.replaceAll('_', ' ');
}

const paths: Record<CorrectedKind, EntryPath> = {
  test: 'tests',
  dose: 'doses',
  water_change: 'water-changes',
  plan: 'plan',
  refill: 'refills',
};

/** The request that an entry is. */
export function requestOf(
  kind: CorrectedKind,
  system: string,
  choice: Choice,
  value: number,
  unit: string,
): { path: EntryPath; body: Record<string, unknown> } {
  const path = paths[kind];
  if (kind === 'test') return { path, body: { system, analyte: choice.id, value, ...(unit === '' ? {} : { unit }) } };
  if (kind === 'plan') return { path, body: { system, stock: choice.id, ml_per_day: value } };
  if (kind === 'dose' && choice.units[0] === dry) return { path, body: { system, substance: choice.id, grams: value } };
  if (kind !== 'water_change') return { path, body: { system, stock: choice.id, ml: value } };
  return { path, body: { system, volume_l: value } };
}
