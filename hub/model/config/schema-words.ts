import * as z from 'zod';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import type { ConfigPath } from './config-problem.ts';
import { configSchema } from './schema.ts';

type Schema = z.core.$ZodType;

/** The schema of the value at a path, without its wrappers (optional, default); undefined for an unknown path. */
export function schemaAt(path: ConfigPath): Schema | undefined {
  let schema: Schema | undefined = unwrap(configSchema);
  for (const step of path) {
    if (schema instanceof z.ZodObject) schema = (schema.shape as Record<string, Schema>)[String(step)];
    else if (schema instanceof z.ZodArray) schema = schema.element;
    else if (schema instanceof z.ZodRecord) schema = schema.valueType;
    else return undefined;
    if (schema === undefined) return undefined;
    schema = unwrap(schema);
  }
  return schema;
}

function unwrap(schema: Schema): Schema {
  let inner = schema;
  while (inner instanceof z.ZodOptional || inner instanceof z.ZodDefault || inner instanceof z.ZodPrefault) {
    inner = inner.def.innerType;
  }
  return inner;
}

/** The keys that the block at this path may hold; empty when it is no block. */
export function knownKeys(path: ConfigPath): string[] {
  const schema = schemaAt(path);
  if (schema instanceof z.ZodObject) return Object.keys(schema.shape);
  if (schema instanceof z.ZodRecord && schema.keyType instanceof z.ZodEnum) return schema.keyType.options.map(String);
  return [];
}

/** What is allowed at a path, in words: `a number of litres from 1 to 1000000`, `one of lf, cr, crlf`. */
export function needAt(path: ConfigPath): string {
  const schema = schemaAt(path);
  if (schema instanceof z.ZodNumber) return numberWords(schema, unitAt(path));
  if (schema instanceof z.ZodString) return textWords(schema);
  if (schema instanceof z.ZodISODate) return 'a date such as 2026-03-31';
  if (schema instanceof z.ZodEnum) return choiceWords(schema.options.map(String));
  if (schema instanceof z.ZodUnion) return choiceWords(schema.options.flatMap(literalsOf));
  if (schema instanceof z.ZodBoolean) return 'true or false';
  if (schema instanceof z.ZodArray) return listWords(schema);
  const keys = knownKeys(path);
  return keys.length === 0 ? 'another value' : `a block of keys: ${keys.join(', ')}`;
}

function literalsOf(schema: Schema): string[] {
  return schema instanceof z.ZodLiteral ? [...schema.values].map(String) : [];
}

function choiceWords(choices: string[]): string {
  return choices.length === 2 ? choices.join(' or ') : `one of ${choices.join(', ')}`;
}

function numberWords(schema: z.ZodNumber, unit: string): string {
  const { least, above, most } = edgesOf(schema);
  const noun = schema.isInt ? 'a whole number' : 'a number';
  const range: string[] = [];
  if (least !== undefined) range.push(most === undefined ? `of at least ${least}` : `from ${least}`);
  if (above !== undefined) range.push(`above ${above}`);
  if (most !== undefined) range.push(range.length === 0 ? `of at most ${most}` : `to ${most}`);
  return [noun, unit === '' ? '' : `of ${unit}`, ...range].filter((part) => part !== '').join(' ');
}

type Edges = { least?: number; above?: number; most?: number };

/** The edges of a number or of a list's length, from the checks of its schema. */
function edgesOf(schema: z.ZodNumber | z.ZodArray): Edges {
  const edges: Edges = {};
  for (const check of schema.def.checks ?? []) {
    const { def } = check._zod;
    if (isCheck<z.core.$ZodCheckGreaterThanDef>(def, 'greater_than')) {
      if (def.inclusive) edges.least = Number(def.value);
      else edges.above = Number(def.value);
    }
    if (isCheck<z.core.$ZodCheckLessThanDef>(def, 'less_than')) edges.most = Number(def.value);
    if (isCheck<z.core.$ZodCheckMinLengthDef>(def, 'min_length')) edges.least = def.minimum;
    if (isCheck<z.core.$ZodCheckMaxLengthDef>(def, 'max_length')) edges.most = def.maximum;
  }
  return edges;
}

function isCheck<Def extends z.core.$ZodCheckDef>(def: z.core.$ZodCheckDef, name: Def['check']): def is Def {
  return def.check === name;
}

function textWords(schema: z.ZodString): string {
  const { minLength, maxLength } = schema;
  if (maxLength !== null) return `a text of ${minLength ?? 0} to ${maxLength} characters`;
  return minLength === null ? 'a text' : 'a text that is not empty';
}

function listWords(schema: z.ZodArray): string {
  const { least, most } = edgesOf(schema);
  const count = most === undefined ? '' : ` of ${least === undefined ? 'at most' : `${least} to`} ${most}`;
  return `a list${count}, each entry starting with -`;
}

const unitOfEnding: readonly (readonly [RegExp, string])[] = [
  [/_l$/, 'litres'],
  [/_ml$/, 'millilitres'],
  [/_minutes$/, 'minutes'],
  [/_seconds(_old)?$/, 'seconds'],
  [/_days$/, 'days'],
  [/_bytes$/, 'bytes'],
  [/grams_per_litre$/, 'grams a litre'],
  [/^ml_per_day$/, 'millilitres a day'],
  [/percent_per_C$/, '% per °C'],
];

/** The unit in which the number at a path counts; empty for a pure number. */
export function unitAt(path: ConfigPath): string {
  const key = String(path.at(-1) ?? '');
  const metric = path.at(-2);
  if (path.at(-3) === 'bands' && typeof metric === 'string' && isMetric(metric)) {
    const { unit } = metricFacts[metric];
    if (key === 'most_per_hour') return unit === '' ? '' : `${unit} an hour`;
    if (key === 'most_per_day') return unit === '' ? '' : `${unit} a day`;
    return unit;
  }
  if (path.at(-2) === 'test_every_days') return 'days';
  return unitOfEnding.find(([ending]) => ending.test(key))?.[1] ?? '';
}
