import { typedInStore, typedOfStore, unitOf } from './read-unit.ts';

type Values = Record<string, string>;

/** The metric in whose unit a field is typed; undefined for text and for a number of its own. */
export type TypedAs = (field: string, values: Values) => string | undefined;

/** What was typed in a unit, and what it is in the store's: the keeper may read in another unit before it is sent. */
export type TypedIn = Record<string, { unit: string; stored: number }>;

/** Beyond so many digits nobody typed. */
const digits = 4;

const lastNames = ['temperature', 'salinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'] as const;

/** Of a form whose fields are called after the metric, alone or behind a dot. */
export const typedAsNamed: TypedAs = (field) => lastNames.find((metric) => metric === field.split('.').at(-1));

/** @returns the unit of each field that holds a number of a metric, with the number in the store's unit */
export function typedIn(values: Values, typedAs: TypedAs): TypedIn {
  return Object.fromEntries(
    Object.entries(values).flatMap(([field, text]) => {
      const metric = typedAs(field, values);
      const number = Number(text.trim().replace(',', '.'));
      if (metric === undefined || text.trim() === '' || !Number.isFinite(number)) return [];
      return [[field, { unit: unitOf(metric), stored: typedInStore(metric, number) }]];
    }),
  );
}

/** The same fields in the units of now; what was typed in the unit of now stays as it was typed. */
export function inUnitsOfNow(values: Values, typed: TypedIn, typedAs: TypedAs): Values {
  const changed = Object.entries(typed).flatMap(([field, { unit, stored }]) => {
    const metric = typedAs(field, values);
    if (metric === undefined || unitOf(metric) === unit) return [];
    const text = typedOfStore(metric, stored);
    return [[field, text.length > digits + 1 ? String(Number(Number(text).toPrecision(digits))) : text]];
  });
  return changed.length === 0 ? values : { ...values, ...Object.fromEntries(changed) };
}
