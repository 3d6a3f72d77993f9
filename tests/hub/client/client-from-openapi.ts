import { type JsonSchema, type OpenApiDocument, type Operation, operationsOf } from '../../docs/openapi-document.ts';

/** What a client that sends and takes JSON once cannot do: the live stream never ends, and photos are no JSON. */
const notForThisClient = ['getLive', 'postPiecesByIdPhotos', 'getPhotosByName'];

/**
 * The typed client of the hub's API as TypeScript: the types of every body and answer, and one function for each
 * operation. An answer that the document does not describe has the type that the caller names.
 */
export function clientFromOpenApi(document: OpenApiDocument): string {
  const operations = operationsOf(document).filter(({ id }) => !notForThisClient.includes(id));
  const shapes = namedShapes(operations.flatMap((operation) => [bodyShape(operation), answerShape(operation)]));
  return `${[
    '// biome-ignore-all format: generated',
    `// Generated from the OpenAPI document by \`npm run docs\`; a test fails when it is out of date. Not edited by hand.`,
    '',
    "import type { Send } from './send.ts';",
    '',
    ...shapes,
    '/** Every operation of the API as a function; `send` carries it to a hub. */',
    'export function createClient(send: Send) {',
    '  return {',
    ...operations.map(functionOf),
    '  };',
    '}',
  ].join('\n')}\n`;
}

function functionOf(operation: Operation): string {
  const { id, method, path, summary, scope, body, answer } = operation;
  const given = [
    ...operation.inPath.map(({ name, schema }) => `${name}: ${typeOf(schema, 3)}`),
    ...(body === undefined ? [] : [`body${isOptional(body) ? '?' : ''}: ${capital(id)}Body`]),
    ...queryOf(operation),
  ];
  const takes = given.length === 0 ? '' : `given: { ${given.join('; ')} }${canBeLeftOut(operation) ? ' = {}' : ''}`;
  const generic = answer === undefined ? '<Answer = unknown>' : '';
  const gives = answer === undefined ? 'Answer' : `${capital(id)}Answer`;
  const address = path.replace(/\{(\w+)\}/g, (_, name: string) => `\${encodeURIComponent(given.${name})}`);
  const rest = [
    ...(operation.inQuery.length === 0 ? [] : ['query: given.query']),
    // A body that is optional is sent as an empty one: the hub's schema then fills in.
    ...(body === undefined ? [] : [isOptional(body) ? 'body: given.body ?? {}' : 'body: given.body']),
  ];
  return [
    `    /** ${oneLine(summary)}. Scope: ${scope}. */`,
    `    ${id}: ${generic}(${takes}): Promise<${gives}> =>`,
    `      send<${gives}>({ method: '${method}', path: ${address === path ? `'${path}'` : `\`${address}\``}${rest.map((each) => `, ${each}`).join('')} }),`,
  ].join('\n');
}

/** True when nothing of what it takes is needed. */
function canBeLeftOut({ inPath, inQuery, body }: Operation): boolean {
  const needsQuery = inQuery.some(({ isRequired }) => isRequired);
  return inPath.length === 0 && !needsQuery && (body === undefined || isOptional(body));
}

function queryOf({ inQuery }: Operation): string[] {
  if (inQuery.length === 0) return [];
  const fields = inQuery.map(({ name, isRequired, schema }) => `${name}${isRequired ? '' : '?'}: ${typeOf(schema, 3)}`);
  const needs = inQuery.some(({ isRequired }) => isRequired);
  return [`query${needs ? '' : '?'}: { ${fields.join('; ')} }`];
}

type Shape = { name: string; type: string };

function bodyShape({ id, body }: Operation): Shape | undefined {
  return body === undefined ? undefined : { name: `${capital(id)}Body`, type: typeOf(body, 0) };
}

function answerShape({ id, answer }: Operation): Shape | undefined {
  return answer === undefined ? undefined : { name: `${capital(id)}Answer`, type: typeOf(answer, 0, true) };
}

/** A shape that was there before is named by the earlier name: many operations answer with the same view. */
function namedShapes(shapes: readonly (Shape | undefined)[]): string[] {
  const known = new Map<string, string>();
  return shapes.flatMap((shape) => {
    if (shape === undefined) return [];
    const { name, type } = shape;
    const before = known.get(type);
    known.set(type, before ?? name);
    return [`export type ${name} = ${before ?? type};\n`];
  });
}

/** A body of which every field has a default or may be left out. */
function isOptional(body: JsonSchema): boolean {
  return body.type === 'object' && neededIn(body, false).length === 0;
}

/** A field with a default need not be sent, and always comes. */
function neededIn(schema: JsonSchema, isAnswer: boolean): string[] {
  return (schema.required ?? []).filter((name) => isAnswer || schema.properties?.[name]?.default === undefined);
}

/**
 * A JSON Schema as a TypeScript type.
 * @throws for a part of JSON Schema that it does not know
 */
export function typeOf(schema: JsonSchema, depth: number, isAnswer = false): string {
  const inner = (each: JsonSchema) => typeOf(each, depth, isAnswer);
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum !== undefined) return schema.enum.map((each) => JSON.stringify(each)).join(' | ') || 'never';
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices !== undefined) return [...new Set(choices.map(inner))].map(inBrackets).join(' | ');
  if (schema.allOf !== undefined) return schema.allOf.map(inner).map(inBrackets).join(' & ');
  const { type } = schema;
  if (type === undefined) return 'unknown';
  if (typeof type !== 'string') return type.map((one) => inner({ ...schema, type: one })).join(' | ');
  if (type === 'array') return listType(schema, inner);
  if (type === 'object') return objectType(schema, depth, isAnswer);
  const plain = plainTypes[type];
  if (plain === undefined) throw new Error(`no type is known for ${JSON.stringify(schema).slice(0, 200)}`);
  return plain;
}

const plainTypes: Record<string, string> = {
  string: 'string',
  boolean: 'boolean',
  null: 'null',
  number: 'number',
  integer: 'number',
};

function listType({ items, prefixItems }: JsonSchema, inner: (each: JsonSchema) => string): string {
  const tuple = prefixItems ?? (Array.isArray(items) ? items : undefined);
  if (tuple !== undefined) return `[${tuple.map(inner).join(', ')}]`;
  return items === undefined || Array.isArray(items) ? 'unknown[]' : `${inBrackets(inner(items))}[]`;
}

function objectType(schema: JsonSchema, depth: number, isAnswer: boolean): string {
  const { properties, additionalProperties } = schema;
  if (properties === undefined) return recordType(schema, depth, isAnswer);
  const needed = neededIn(schema, isAnswer);
  const indent = '  '.repeat(depth + 1);
  const lines = Object.entries(properties).flatMap(([name, field]) => [
    ...(field.description === undefined ? [] : [`${indent}/** ${oneLine(field.description)} */`]),
    `${indent}${key(name)}${needed.includes(name) ? '' : '?'}: ${typeOf(field, depth + 1, isAnswer)};`,
  ]);
  if (typeof additionalProperties === 'object' && Object.keys(additionalProperties).length > 0)
    lines.push(`${indent}[other: string]: unknown;`);
  if (lines.length === 0) return 'Record<string, never>';
  return `{\n${lines.join('\n')}\n${'  '.repeat(depth)}}`;
}

function recordType({ additionalProperties, propertyNames }: JsonSchema, depth: number, isAnswer: boolean): string {
  const value = typeof additionalProperties === 'object' ? typeOf(additionalProperties, depth, isAnswer) : 'unknown';
  if (propertyNames?.enum === undefined) return `Record<string, ${value}>`;
  return `Partial<Record<${typeOf(propertyNames, depth)}, ${value}>>`;
}

function key(name: string): string {
  return /^[A-Za-z_]\w*$/.test(name) ? name : JSON.stringify(name);
}

function inBrackets(type: string): string {
  return /^[\w."]+$|^\{[^|&]*\}$/s.test(type) ? type : `(${type})`;
}

function oneLine(text: string): string {
  return text.replaceAll('*/', '* /').replace(/\s+/g, ' ').trim().replace(/\.$/, '');
}

function capital(word: string): string {
  return `${word.charAt(0).toUpperCase()}${word.slice(1)}`;
}
