import fc from 'fast-check';
import { ask } from '../hub/http/ask.ts';
import { hostileTexts, type KnownValues, type Schema, sentValue } from './from-schema.ts';

type Parameter = { name: string; in: string; required?: boolean; schema: Schema };
type Operation = { parameters?: Parameter[]; requestBody?: { content: Record<string, { schema?: Schema }> } };

/** One route of the live document, with what may be sent to it. */
export type Route = {
  method: string;
  path: string;
  /** The address with its parts and its query filled in. */
  address: fc.Arbitrary<string>;
  /** Undefined for a route that reads no JSON. */
  body: fc.Arbitrary<unknown> | undefined;
};

/** Every route that the hub itself says it has. The stream of `/api/live` never ends and has tests of its own. */
export async function routesOf(url: string, known: KnownValues): Promise<Route[]> {
  const document = (await ask(url, '/openapi.json')).json<{ paths: Record<string, Record<string, Operation>> }>();
  const routes = Object.entries(document.paths)
    .filter(([path]) => path !== '/api/live')
    .flatMap(([path, item]) =>
      Object.entries(item).map(([method, operation]) => {
        const schema = operation.requestBody?.content['application/json']?.schema;
        return {
          ...{ method: method.toUpperCase(), path, address: addressOf(path, operation.parameters ?? [], known) },
          body: schema === undefined ? undefined : sentValue(schema, known),
        };
      }),
    );
  // What takes things away comes last, so that the others find something.
  const isEnd = ({ method, path }: Route) => method === 'DELETE' || /close|withdraw|undo|lost/.test(path);
  return [...routes.filter((route) => !isEnd(route)), ...routes.filter(isEnd)];
}

function addressOf(path: string, parameters: readonly Parameter[], known: KnownValues): fc.Arbitrary<string> {
  const parts = parameters.filter((each) => each.in === 'path');
  const asked = parameters.filter((each) => each.in === 'query');
  const fieldOf = ({ name, schema }: Parameter) => {
    const own = path.startsWith('/api/runs/') && name === 'run' ? 'run' : name;
    const named = `${path.split('/')[2]}.${own}`;
    return sentValue(schema, known, known[named] === undefined ? own : named);
  };
  const filled = fc.tuple(
    fc.record(Object.fromEntries(parts.map((each) => [each.name, fieldOf(each)]))),
    fc.record(Object.fromEntries(asked.map((each) => [each.name, fieldOf(each)])), { requiredKeys: [] }),
    // Some are written as they stand: a dot, a slash and a percent sign then mean what they mean in an address.
    fc.boolean(),
  );
  return filled.map(([places, query, isRaw]) => {
    const written = (value: unknown) => (isRaw ? printable(String(value)) : encoded(value));
    const base = path.replace(/\{(\w+)\}/g, (_whole, name: string) => written(places[name]));
    const rest = Object.entries(query).map(([name, value]) => `${name}=${written(value)}`);
    return rest.length === 0 ? base : `${base}?${rest.join('&')}`;
  });
}

/** What node itself agrees to send as an address. */
function printable(text: string): string {
  return text.replace(/[^\x21-\x7e]/g, '%00').slice(0, 3000);
}

function encoded(value: unknown): string {
  return encodeURIComponent(Buffer.from(String(value)).toString());
}

/** Addresses that belong to no route. */
export const strayAddress: fc.Arbitrary<string> = fc
  .tuple(
    fc.constantFrom('/', '/api/', '/api/photos/', '/api/weeks/', '/api/pieces/', '/health/', '/assets/'),
    fc.constantFrom(...hostileTexts),
  )
  .map(([start, text]) => start + printable(text));
