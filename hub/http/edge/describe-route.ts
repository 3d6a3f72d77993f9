import { jsonSchemaTransform } from 'fastify-type-provider-zod';
import { scopeByDefault } from '../../model/access/scope.ts';

type Transform = typeof jsonSchemaTransform;

/**
 * What the OpenAPI document says of a route beyond its schemas: a name for programs that are written by the document, and
 * the scope that the guard asks for, as `x-scope`. A route that is open to everybody needs no sign-in there either.
 */
export const describeRoute: Transform = (input) => {
  const { schema, url } = jsonSchemaTransform(input);
  const { method, config } = input.route;
  const [first = 'GET'] = [method].flat();
  const scope = config?.scope ?? scopeByDefault(first, input.url);
  const described = {
    ...schema,
    operationId: operationId(first, input.url),
    'x-scope': scope,
    ...(scope === 'open' ? { security: [] } : {}),
  };
  return { schema: described, url };
};

/** Method and path as one word: `POST /api/arrivals/:id/runs` is `postArrivalsByIdRuns`. */
export function operationId(method: string, url: string): string {
  const words = url
    .replace(/^\/api\//, '/')
    .split(/[/.-]/)
    .filter((word) => word !== '')
    .map((word) => (word.startsWith(':') ? `By${capital(word.slice(1))}` : capital(word)));
  return `${method.toLowerCase()}${words.join('')}`;
}

function capital(word: string): string {
  return `${word.charAt(0).toUpperCase()}${word.slice(1)}`;
}
