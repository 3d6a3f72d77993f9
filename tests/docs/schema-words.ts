import { metrics } from '#rules/quantity/metric.ts';
import type { JsonSchema } from './openapi-document.ts';

/** A JSON Schema in the words of a reference page: type, what is allowed, unit, default, description. */
export type Words = { type: string; allowed: string; unit: string; standard: string; text: string };

/** @param name  of the field: its ending is its unit */
export function wordsOf(name: string, schema: JsonSchema, onlyFor: readonly string[] = []): Words {
  const choice =
    onlyFor.length === 0 ? '' : `For ${onlyFor.map(code).join(', ')}${schema.description === undefined ? '' : ': '}`;
  return {
    type: typeWords(schema),
    allowed: allowedWords(schema),
    unit: unitOfName(name),
    standard: schema.default === undefined ? '' : code(JSON.stringify(schema.default)),
    text: cell(`${choice}${schema.description ?? ''}`),
  };
}

export type Field = { name: string; isRequired: boolean; schema: JsonSchema; onlyFor: string[] };

/** Every field below an object, `a.b` for what is inside and `a[]` for the entries of a list; of a union, the fields of all choices. */
export function fieldsOf(schema: JsonSchema, before = ''): Field[] {
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices !== undefined) return fieldsOfUnion(choices, before);
  if (schema.items !== undefined && !Array.isArray(schema.items)) return fieldsOf(schema.items, `${before}[]`);
  return Object.entries(schema.properties ?? {}).flatMap(([key, field]) => {
    const name = before === '' ? key : `${before}.${key}`;
    const isRequired = (schema.required ?? []).includes(key) && field.default === undefined;
    return [{ name, isRequired, schema: field, onlyFor: [] }, ...fieldsOf(field, name)];
  });
}

/** Each field once: needed when every choice needs it, and with the names of its choices when not all have it. */
function fieldsOfUnion(choices: readonly JsonSchema[], before: string): Field[] {
  const known = new Map<string, { field: Field; names: string[]; count: number; values: unknown[] }>();
  for (const choice of choices) {
    for (const field of fieldsOf(choice, before)) {
      const old = known.get(field.name) ?? { field, names: [], count: 0, values: [] };
      const names = [...old.names, ...nameOfChoice(choice)];
      const values = [...old.values, ...valuesOf(field.schema)];
      const isRequired = old.field.isRequired && field.isRequired;
      known.set(field.name, { field: { ...old.field, isRequired }, names, count: old.count + 1, values });
    }
  }
  return [...known.values()].map(({ field, names, count, values }) => ({
    ...field,
    isRequired: field.isRequired && count === choices.length,
    schema: values.length > 0 ? withValues(field.schema, [...new Set(values)]) : field.schema,
    onlyFor: count === choices.length ? field.onlyFor : names,
  }));
}

function valuesOf({ enum: some, const: one }: JsonSchema): unknown[] {
  return some ?? (one === undefined ? [] : [one]);
}

function withValues({ const: _, ...schema }: JsonSchema, values: unknown[]): JsonSchema {
  return { ...schema, enum: values };
}

/** The one value that tells this choice from the others. */
function nameOfChoice({ properties }: JsonSchema): string[] {
  const told = Object.values(properties ?? {}).find((field) => valuesOf(field).length === 1);
  return told === undefined ? [] : valuesOf(told).map(String);
}

function typeWords(schema: JsonSchema): string {
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices !== undefined) return [...new Set(choices.map(typeWords))].join(' or ');
  if (schema.const !== undefined) return 'fixed';
  if (schema.format === 'date-time') return 'time, ISO 8601';
  if (schema.format === 'date') return 'date, ISO 8601';
  if (schema.enum !== undefined) return 'one of';
  const { type } = schema;
  if (Array.isArray(type)) return type.map((one) => typeWords({ ...schema, type: one })).join(' or ');
  switch (type) {
    case 'integer':
      return 'whole number';
    case 'boolean':
      return 'true or false';
    case 'array':
      return schema.items === undefined || Array.isArray(schema.items) ? 'list' : `list of ${typeWords(schema.items)}`;
    case 'string':
      return 'text';
    default:
      return type ?? 'anything';
  }
}

function allowedWords(schema: JsonSchema): string {
  if (schema.const !== undefined) return code(String(schema.const));
  const choices = schema.enum ?? (!Array.isArray(schema.items) ? schema.items?.enum : undefined);
  if (choices !== undefined) return choicesWords(choices.map(String));
  // What zod knows of whole numbers is the range of the language, and tells nobody anything.
  const least = known(schema.minimum);
  const most = known(schema.maximum);
  const range = [
    ...(least === undefined ? [] : [`from ${least}`]),
    ...(schema.exclusiveMinimum === undefined ? [] : [`above ${schema.exclusiveMinimum}`]),
    ...(most === undefined ? [] : [`to ${most}`]),
    ...(schema.exclusiveMaximum === undefined ? [] : [`below ${schema.exclusiveMaximum}`]),
    ...(schema.maxLength === undefined ? [] : [`at most ${schema.maxLength} characters`]),
    ...(schema.minItems === undefined ? [] : [`at least ${schema.minItems}`]),
    ...(schema.maxItems === undefined ? [] : [`at most ${schema.maxItems}`]),
  ];
  return range.join(' ');
}

/** The metrics are eighteen words, and stand on the page about the configuration. */
function choicesWords(choices: readonly string[]): string {
  const isAnyMetric = choices.length === metrics.length && metrics.every((metric) => choices.includes(metric));
  return isAnyMetric ? 'a [metric](configuration.md#metrics)' : choices.map(code).join(', ');
}

function known(edge: number | undefined): number | undefined {
  return edge === undefined || Math.abs(edge) >= Number.MAX_SAFE_INTEGER ? undefined : edge;
}

const endings: readonly (readonly [RegExp, string])[] = [
  [/_per_l(itre)?(_at_35)?$/, 'per litre'],
  [/_dkh$/, 'dKH'],
  [/_mg_l$/, 'mg/L'],
  [/_mS_cm$/, 'mS/cm'],
  [/_mV$|_mv$/, 'mV'],
  [/_C$/, '°C'],
  [/_cm$/, 'cm'],
  [/_umol_kg$/, 'µmol/kg'],
  [/ml_per_day$/, 'mL a day'],
  [/(^|_)ml$/, 'mL'],
  [/(^|_)(l|litres)$/, 'L'],
  [/(^|_)(g|grams)$/, 'g'],
  [/(^|_)percent(age)?$/, '%'],
  [/(^|_)seconds$/, 's'],
  [/(^|_)minutes$/, 'min'],
  [/(^|_)hours$/, 'h'],
  [/(^|_)days$/, 'days'],
  [/(^|_)bytes$/, 'bytes'],
  [/Ms$|_ms$/, 'ms'],
];

/** The unit that the name of a field ends with; empty where it has none. */
function unitOfName(name: string): string {
  const last = name.split('.').at(-1)?.replaceAll('[]', '') ?? '';
  return endings.find(([ending]) => ending.test(last))?.[1] ?? '';
}

export function code(text: string): string {
  return `\`${text}\``;
}

/** In a cell of a table a bar would end it. */
export function cell(text: string): string {
  return text.replaceAll('|', '\\|').replace(/\s+/g, ' ').trim();
}

export function table(head: readonly string[], rows: readonly (readonly string[])[]): string[] {
  return [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.map(cell).join(' | ')} |`);
}
