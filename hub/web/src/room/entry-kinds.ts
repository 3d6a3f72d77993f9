import { type Analyte, analytes, metricFacts } from '#rules/quantity/metric.ts';
import type { SystemView } from '../../../api/room.ts';
import type { EntryPath } from '../kit/unsent.ts';

export const entryKinds = ['test', 'dose', 'water_change'] as const;
export type EntryKind = (typeof entryKinds)[number];

/** What can be entered: an analyte with the units its tests come in, a stock in millilitres, or litres of water. */
export type Choice = { id: string; label: string; units: readonly string[] };

/** The units that a test of each may come in, the usual one first. */
const testUnits: Record<Analyte, readonly string[]> = {
  alkalinity: ['dKH', 'meq/L', 'mg/L CaCO3'],
  calcium: ['mg/L', 'mmol/L', 'mg/L CaCO3'],
  magnesium: ['mg/L', 'mmol/L', 'mg/L CaCO3'],
  nitrate: ['mg/L', 'mg/L N'],
  phosphate: ['mg/L', 'mg/L P', 'µg/L P'],
  potassium: ['mg/L'],
  iodide: ['µg/L', 'mg/L'],
  salinity: ['', 'sg', 'g/kg'],
  ph: [''],
  temperature: ['°C', '°F'],
};

export const tested: readonly Choice[] = analytes.map((id) => ({
  ...{ id, label: metricFacts[id].label, units: testUnits[id] },
}));

export const kindWords: Record<EntryKind, { thing: string; what: string; value: string; missing: string }> = {
  test: { thing: 'test', what: 'What', value: 'Value', missing: 'Enter the number that the test gave.' },
  dose: { thing: 'dose', what: 'Of what', value: 'Amount', missing: 'Enter how many millilitres were given.' },
  water_change: {
    thing: 'water change',
    what: 'What',
    value: 'Amount',
    missing: 'Enter how many litres were changed.',
  },
};

/** A unit as it stands in the list of a form: a salinity has no unit, and a specific gravity is none either. */
export function unitName(unit: string): string {
  if (unit === '') return 'practical salinity';
  return unit === 'sg' ? 'specific gravity' : unit;
}

export function choicesOf(kind: EntryKind, system: SystemView): readonly Choice[] {
  if (kind === 'test') return tested;
  if (kind === 'dose') return system.stocks.map(({ id, name }) => ({ id, label: name, units: ['mL'] }));
  return [{ id: 'water', label: 'Water change', units: ['L'] }];
}

const paths: Record<EntryKind, EntryPath> = { test: 'tests', dose: 'doses', water_change: 'water-changes' };

/** The request that an entry is. */
export function requestOf(
  kind: EntryKind,
  system: string,
  choice: Choice,
  value: number,
  unit: string,
): { path: EntryPath; body: Record<string, unknown> } {
  const path = paths[kind];
  if (kind === 'test') return { path, body: { system, analyte: choice.id, value, ...(unit === '' ? {} : { unit }) } };
  if (kind === 'dose') return { path, body: { system, stock: choice.id, ml: value } };
  return { path, body: { system, volume_l: value } };
}
