import {
  type JsonSchema,
  type OpenApiDocument,
  type Operation,
  operationsOf,
  type Parameter,
} from './openapi-document.ts';
import { code, type Field, fieldsOf, table, wordsOf } from './schema-words.ts';

/** The page about the HTTP API, from its OpenAPI document. */
export function httpReference(document: OpenApiDocument): string {
  const operations = operationsOf(document);
  const tags = [...new Set(operations.map(({ tag }) => tag))];
  return [
    ...opening,
    ...tags.map((tag) => `- [${tag}](#${tag})`),
    '',
    ...tags.flatMap((tag) => [`## ${tag}`, '', ...operations.filter((each) => each.tag === tag).flatMap(sectionOf)]),
  ].join('\n');
}

const opening = [
  '# HTTP API',
  '',
  'Written by `npm run docs` from the OpenAPI 3.1 document that the hub serves at `/openapi.json`.',
  '',
  'Bodies and answers are JSON. Times are ISO 8601 with an offset. What is refused comes back as problem details (RFC 9457):',
  '`type`, `title`, `status`, `detail`, and for a wrong field `errors`. Without a passphrase nobody is asked who they are, and the hub',
  'answers on its own machine only. With one, a script sends `Authorization: Bearer TOKEN`; `brinekeep token add` makes a token.',
  '',
  'Scope: `open` answers everybody, `read` sees, `enter` also enters and acknowledges, `admin` does all. A field in **bold** is required.',
  'The unit of a field is at the end of its name.',
  '',
];

function sectionOf(operation: Operation): string[] {
  const { id, method, path, summary, scope, inPath, inQuery, body, answer } = operation;
  const asked = [
    ...inPath.map((each) => rowOf(each, 'path')),
    ...inQuery.map((each) => rowOf(each, 'query')),
    ...(body === undefined ? [] : fieldsOf(body).map((each) => rowOf(each, 'body'))),
  ];
  return [
    `### ${method} ${path}`,
    '',
    `${summary}. Scope ${code(scope)}; operation ${code(id)}.`,
    '',
    ...(asked.length === 0 ? [] : [...table(['field', 'in', 'type', 'allowed', 'unit', 'default', 'what'], asked), '']),
    ...(answer === undefined ? [] : [`Answer: ${answerWords(answer)}.`, '']),
  ];
}

function rowOf(field: Parameter | Field, place: string): string[] {
  const { type, allowed, unit, standard, text } = wordsOf(
    field.name,
    field.schema,
    'onlyFor' in field ? field.onlyFor : [],
  );
  return [field.isRequired ? `**${field.name}**` : field.name, place, type, allowed, unit, standard, text];
}

function answerWords(answer: JsonSchema): string {
  const list = answer.type === 'array' && !Array.isArray(answer.items) ? answer.items : undefined;
  const names = Object.keys((list ?? answer).properties ?? {}).map(code);
  const fields = [
    ...new Set([...(answer.anyOf ?? []).flatMap((each) => Object.keys(each.properties ?? {}).map(code)), ...names]),
  ];
  if (fields.length === 0) return list === undefined ? wordsOf('', answer).type : `a list of ${wordsOf('', list).type}`;
  return `${list === undefined ? '' : 'a list, each with '}${fields.join(', ')}`;
}
