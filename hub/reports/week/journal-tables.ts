import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import { factorToCommonSalinity } from '../../judgement/estimate/past-salinity.ts';
import { localTimeText } from '../../model/calendar/iso-week.ts';
import type { Entry } from '../../model/journal/journal.ts';
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
  'salinity',
  'value_at_salinity_35',
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
] as const;

type Row<Columns extends readonly string[]> = Partial<Record<Columns[number], Cell | undefined>>;

/** The columns and a row for each, what is not known left empty. */
function table<const Columns extends readonly string[]>(columns: Columns, rows: readonly Row<Columns>[]): Cell[][] {
  return [[...columns], ...rows.map((row) => columns.map((column: Columns[number]) => row[column] ?? ''))];
}

/**
 * Tests, doses and water changes of a week, as they stand after corrections.
 *
 * @param entries  of these three kinds, oldest first
 * @param salinityThen  the salinity of a system's water at a time, where it was measured
 */
export function testsAndDosesTable(
  entries: readonly Entry<'test' | 'dose' | 'water_change'>[],
  zone: string,
  salinityThen: (system: string, timeMs: number) => number | undefined,
): Cell[][] {
  const rows = entries.map((entry): Row<typeof testAndDoseColumns> => {
    const { kind, system, timeMs, body } = entry;
    return {
      time: localTimeText(timeMs, zone),
      system,
      kind,
      ...amountsOf(entry, salinityThen),
      by: body.by,
      note: body.note,
    };
  });
  return table(testAndDoseColumns, rows);
}

function amountsOf(
  { kind, body, system, timeMs }: Entry<'test' | 'dose' | 'water_change'>,
  salinityThen: (system: string, timeMs: number) => number | undefined,
): Row<typeof testAndDoseColumns> {
  if (kind === 'test') {
    const { analyte, value, sd, given_value, given_unit } = body;
    const factor = factorToCommonSalinity(analyte, timeMs, (at) => salinityThen(system, at));
    const at35 =
      factor === undefined
        ? {}
        : {
            salinity: Number(salinityThen(system, timeMs)?.toFixed(2)),
            value_at_salinity_35: Number((value * factor).toFixed(metricFacts[analyte].decimals + 2)),
          };
    return { analyte, value, unit: metricFacts[analyte].unit, sd, ...at35, given_value, given_unit };
  }
  if (kind === 'dose') {
    const { stock, ml, substance, grams } = body;
    return { stock, stock_ml: ml, substance, substance_g: grams };
  }
  const { volume_l, alkalinity_dkh, calcium_mg_l, magnesium_mg_l, salinity } = body;
  return {
    water_changed_l: volume_l,
    new_water_alkalinity_dkh: alkalinity_dkh,
    new_water_calcium_mg_l: calcium_mg_l,
    new_water_magnesium_mg_l: magnesium_mg_l,
    new_water_salinity: salinity,
  };
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
] as const;

/** What some event of an arrival or a piece says; which of it depends on the event. */
type OfCoral = 'piece' | 'arrival' | 'kind' | 'cause' | 'source' | 'place' | 'note';

/**
 * What happened to the corals of a week: arrivals, and each event of a piece, a loss with its cause.
 *
 * @param entries  of kinds `arrival` and `piece`, oldest first
 */
export function coralsTable(entries: readonly Entry<'arrival' | 'piece'>[], zone: string): Cell[][] {
  const rows = entries.map(({ kind: about, system, timeMs, body }): Row<typeof coralColumns> => {
    const told: Partial<Record<'event' | OfCoral, string | undefined>> = body;
    const { event, piece, arrival, kind, cause, source, place, note } = told;
    return {
      time: localTimeText(timeMs, zone),
      system,
      about,
      event,
      piece,
      arrival,
      kind,
      cause,
      source,
      place,
      note,
    };
  });
  return table(coralColumns, rows);
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
] as const;

/**
 * What every alarm of a week did: a row for each change of state.
 *
 * @param entries  of kind `alarm`, oldest first
 */
export function alarmsTable(entries: readonly Entry<'alarm'>[], zone: string): Cell[][] {
  const rows = entries.map(({ system, timeMs, body }): Row<typeof alarmColumns> => {
    const { metric, rule, priority, state, value, by, message, alarm, occurrence, why } = body;
    const unit = value === undefined ? '' : unitOf(metric);
    return {
      time: localTimeText(timeMs, zone),
      system,
      metric,
      rule,
      priority,
      state,
      value,
      unit,
      by,
      message,
      alarm,
      occurrence,
      why,
    };
  });
  return table(alarmColumns, rows);
}

function unitOf(metric: string): string {
  return isMetric(metric) ? metricFacts[metric].unit : '';
}
