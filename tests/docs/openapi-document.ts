export type JsonType = 'string' | 'number' | 'integer' | 'boolean' | 'null' | 'object' | 'array';

/** The parts of JSON Schema 2020-12 that the hub's schemas come out as. */
export type JsonSchema = {
  type?: JsonType | JsonType[];
  description?: string;
  default?: unknown;
  enum?: unknown[];
  const?: unknown;
  anyOf?: JsonSchema[];
  oneOf?: JsonSchema[];
  allOf?: JsonSchema[];
  properties?: Record<string, JsonSchema>;
  required?: string[];
  additionalProperties?: boolean | JsonSchema;
  propertyNames?: JsonSchema;
  items?: JsonSchema | JsonSchema[];
  prefixItems?: JsonSchema[];
  minimum?: number;
  maximum?: number;
  exclusiveMinimum?: number;
  exclusiveMaximum?: number;
  minLength?: number;
  maxLength?: number;
  minItems?: number;
  maxItems?: number;
  pattern?: string;
  format?: string;
};

type Content = Record<string, { schema?: JsonSchema }>;

type OperationItem = {
  operationId: string;
  summary: string;
  tags?: string[];
  'x-scope': string;
  parameters?: { name: string; in: 'query' | 'path' | 'header' | 'cookie'; required?: boolean; schema: JsonSchema }[];
  requestBody?: { content: Content; required?: boolean };
  responses: Record<string, { description: string; content?: Content }>;
};

export type OpenApiDocument = {
  openapi: string;
  info: { title: string; version: string };
  paths: Record<string, Record<string, OperationItem>>;
};

export type Parameter = { name: string; isRequired: boolean; schema: JsonSchema };

/** One operation, with its schemas where one looks for them. */
export type Operation = {
  id: string;
  method: string;
  path: string;
  tag: string;
  summary: string;
  scope: string;
  inPath: Parameter[];
  inQuery: Parameter[];
  body: JsonSchema | undefined;
  /** Of the answers that mean success; absent where the document says nothing of it. */
  answer: JsonSchema | undefined;
};

/** Every operation in the order of the document. @throws when two have one name */
export function operationsOf(document: OpenApiDocument): Operation[] {
  const operations = Object.entries(document.paths).flatMap(([path, item]) =>
    Object.entries(item).map(([method, operation]) => operationOf(method.toUpperCase(), path, operation)),
  );
  const ids = operations.map(({ id }) => id);
  const twice = ids.find((id, index) => ids.indexOf(id) !== index);
  if (twice !== undefined) throw new Error(`two operations are called ${twice}`);
  return operations;
}

function operationOf(method: string, path: string, item: OperationItem): Operation {
  const parametersIn = (place: string): Parameter[] =>
    (item.parameters ?? [])
      .filter((each) => each.in === place)
      .map(({ name, required, schema }) => ({ name, isRequired: required === true, schema }));
  const success = Object.entries(item.responses).filter(([status]) => status.startsWith('2'));
  const answers = success.flatMap(([, { content }]) => content?.['application/json']?.schema ?? []);
  return {
    ...{ id: item.operationId, method, path, tag: item.tags?.[0] ?? 'other' },
    ...{ summary: item.summary, scope: item['x-scope'] },
    ...{ inPath: parametersIn('path'), inQuery: parametersIn('query') },
    body: item.requestBody?.content['application/json']?.schema,
    answer: answers.length > 1 ? { anyOf: answers } : answers[0],
  };
}
