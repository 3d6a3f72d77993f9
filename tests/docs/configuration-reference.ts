import * as z from 'zod';
import { configSchema } from '#hub/model/config/schema.ts';
import { metricFacts, metrics } from '#rules/quantity/metric.ts';
import type { JsonSchema } from './openapi-document.ts';
import { code, type Field, fieldsOf, table, wordsOf } from './schema-words.ts';

/** The page about the configuration file, from its schema: every key with what it may be. */
export function configurationReference(): string {
  const schema = z.toJSONSchema(configSchema, { io: 'input', unrepresentable: 'any' }) as JsonSchema;
  const all = fieldsOf(schema).flatMap(ofAnyMetric);
  // A block says nothing beside its keys, unless it has words of its own.
  const isBare = ({ name, schema: { type, description } }: Field) =>
    type === 'object' && description === undefined && all.some((other) => other.name.startsWith(`${name}.`));
  const fields = all.filter((field) => !isBare(field));
  const blocks = [...new Set(fields.map(({ name }) => blockOf(name)))];
  return [
    ...opening,
    ...blocks.flatMap((block) => [
      `## ${block}`,
      '',
      ...table(
        ['key', 'type', 'allowed', 'unit', 'default', 'what'],
        fields.filter(({ name }) => blockOf(name) === block).map(rowOf),
      ),
      '',
    ]),
    '## metrics',
    '',
    'The unit of a metric is that of bands, alarms, stored readings and time-series points, whatever unit is shown.',
    '',
    ...table(
      ['metric', 'what', 'unit'],
      metrics.map((metric) => [code(metric), metricFacts[metric].label, metricFacts[metric].unit]),
    ),
    '',
  ].join('\n');
}

const opening = [
  '# The configuration file',
  '',
  'Written by `npm run docs` from the schema that `brinekeep check` checks the file against. A key in **bold** is required, `a.b` is b below a,',
  '`a[]` an entry of a list. Secrets are never in the file: it names an environment variable or a file that holds them. Mistakes that only the',
  'whole file shows (a probe that names an unknown system) are listed by `brinekeep check FILE`, each with its line number.',
  'A long example with comments: [fixtures/demo/demo.yaml](../../fixtures/demo/demo.yaml).',
  '',
];

/** The same for all eighteen metrics: said once. */
function ofAnyMetric(field: Field): Field[] {
  const [first = '', ...others] = metrics.map((metric) => `systems[].bands.${metric}`);
  const isOf = (name: string) => field.name === name || field.name.startsWith(`${name}.`);
  if (others.some(isOf)) return [];
  return [isOf(first) ? { ...field, name: field.name.replace(first, 'systems[].bands.METRIC') } : field];
}

/** Keys that stand alone at the top share a section. */
function blockOf(name: string): string {
  const [block = '', ...inside] = name.split(/[.[]/);
  return inside.length === 0 && !lists.includes(block) ? 'alone' : block;
}

const lists = ['systems', 'serial', 'probes', 'rules'];

function rowOf({ name, isRequired, schema, onlyFor }: Field): string[] {
  const { type, allowed, unit, standard, text } = wordsOf(name, schema, onlyFor);
  // What a block that is left out holds stands beside its keys.
  const isBlock = standard === code('{}') || standard === code('[]');
  return [isRequired ? `**${name}**` : name, type, allowed, unit, isBlock ? '' : standard, text];
}
