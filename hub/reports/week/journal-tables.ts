import type { KeptEntry } from '#adapters/ports/store.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import { localTimeText } from '../../model/calendar/iso-week.ts';
import type { Cell } from './daily-table.ts';

/** Tests are in the unit of the `unit` column, as they were given and as the hub counts them; the rest has its unit in the name. */
const testAndDoseColumns = [
  'time',
  'system',
  'kind',
  'analyte',
  'value',
  'unit',
  'sd',
  'given_value',
  'given_unit',
  'stock',
  'stock_ml',
  'substance',
  'substance_g',
  'water_changed_l',
  'new_water_alkalinity_dkh',
  'new_water_calcium_mg_l',
  'new_water_magnesium_mg_l',
  'new_water_salinity',
  'by',
  'note',
];

/**
 * Tests, doses and water changes of a week, as they stand after corrections.
 *
 * @param entries  of these three kinds, oldest first
 */
export function testsAndDosesTable(entries: readonly KeptEntry[], zone: string): Cell[][] {
  const rows = entries.map(({ kind, system, timeMs, body }) => [
    localTimeText(timeMs, zone),
    system,
    kind,
    cell(body['analyte']),
    cell(body['value']),
    kind === 'test' ? unitOf(body['analyte']) : '',
    ...['sd', 'given_value', 'given_unit', 'stock', 'ml', 'substance', 'grams', 'volume_l'].map((key) =>
      cell(body[key]),
    ),
    ...['alkalinity_dkh', 'calcium_mg_l', 'magnesium_mg_l', 'salinity', 'by', 'note'].map((key) => cell(body[key])),
  ]);
  return [testAndDoseColumns, ...rows];
}

const coralColumns = [
  'time',
  'system',
  'about',
  'event',
  'piece',
  'arrival',
  'kind',
  'cause',
  'source',
  'place',
  'note',
];

/**
 * What befell the corals of a week: arrivals, and each event of a piece, a loss with its cause.
 *
 * @param entries  of kinds `arrival` and `piece`, oldest first
 */
export function coralsTable(entries: readonly KeptEntry[], zone: string): Cell[][] {
  const rows = entries.map(({ kind, system, timeMs, body }) => [
    localTimeText(timeMs, zone),
    system,
    kind,
    ...['event', 'piece', 'arrival', 'kind', 'cause', 'source', 'place', 'note'].map((key) => cell(body[key])),
  ]);
  return [coralColumns, ...rows];
}

const alarmColumns = [
  'time',
  'system',
  'metric',
  'rule',
  'priority',
  'state',
  'value',
  'unit',
  'by',
  'message',
  'alarm',
  'occurrence',
  'why',
];

/**
 * What every alarm of a week did: a row for each change of state.
 *
 * @param entries  of kind `alarm`, oldest first
 */
export function alarmsTable(entries: readonly KeptEntry[], zone: string): Cell[][] {
  const rows = entries.map(({ system, timeMs, body }) => [
    localTimeText(timeMs, zone),
    system,
    ...['metric', 'rule', 'priority', 'state', 'value'].map((key) => cell(body[key])),
    body['value'] === undefined ? '' : unitOf(body['metric']),
    ...['by', 'message', 'alarm', 'occurrence', 'why'].map((key) => cell(body[key])),
  ]);
  return [alarmColumns, ...rows];
}

/** The journal outlives the code that wrote it: what is neither a text nor a number leaves its cell empty. */
function cell(value: unknown): Cell {
  if (typeof value === 'number') return Number.isFinite(value) ? value : '';
  return typeof value === 'string' ? value : '';
}

function unitOf(metric: unknown): string {
  return typeof metric === 'string' && isMetric(metric) ? metricFacts[metric].unit : '';
}
