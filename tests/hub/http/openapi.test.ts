import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import * as z from 'zod';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { ask } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/**
 * The parts of an OpenAPI document that this hub uses, as the specification binds them.
 *
 * @source OpenAPI Specification 3.1, sections OpenAPI, Paths, Operation, Parameter, Request Body, Responses (from memory)
 */
const schema = z.record(z.string(), z.unknown());
const mediaTypes = z.record(z.string().regex(/^[a-z]+\/[a-z0-9.+-]+$/), z.looseObject({ schema: schema.optional() }));
const parameter = z.looseObject({
  name: z.string().min(1),
  in: z.enum(['query', 'path', 'header', 'cookie']),
  required: z.boolean().optional(),
  schema,
});
const operation = z.looseObject({
  summary: z.string().min(1),
  tags: z.array(z.string()).optional(),
  operationId: z.string().optional(),
  parameters: z.array(parameter).optional(),
  requestBody: z.looseObject({ content: mediaTypes, required: z.boolean().optional() }).optional(),
  responses: z.record(
    z.string().regex(/^([1-5]\d\d|[1-5]XX|default)$/),
    z.looseObject({ description: z.string(), content: mediaTypes.optional() }),
  ),
});
const documentSchema = z.looseObject({
  openapi: z.string().regex(/^3\.1\.\d+$/),
  info: z.looseObject({ title: z.string().min(1), version: z.string().min(1) }),
  paths: z.record(
    z.string().startsWith('/'),
    z.partialRecord(z.enum(['get', 'post', 'put', 'delete', 'patch']), operation),
  ),
});
type Document = z.infer<typeof documentSchema>;

/** `METHOD /path/{name}` of every operation. */
function operationsOf(document: Document): string[] {
  return Object.entries(document.paths).flatMap(([path, item]) =>
    Object.keys(item).map((method) => `${method.toUpperCase()} ${path}`),
  );
}

/** What the sources of the HTTP edge answer, found by their text: an own list would miss a route like the document does. */
function routesInSources(): string[] {
  const folder = fileURLToPath(new URL('../../../hub/http', import.meta.url));
  return readdirSync(folder)
    .filter((name) => name.startsWith('routes-'))
    .flatMap((name) => [
      ...readFileSync(`${folder}/${name}`, 'utf8').matchAll(/server\.(get|post|put|delete|patch)\(\s*'([^']+)'/g),
    ])
    .map(([, method, path]) => `${method?.toUpperCase()} ${path?.replace(/:(\w+)/g, '{$1}')}`);
}

/** Every JSON Schema inside, however deep. */
function* schemasIn(node: unknown): Generator<Record<string, unknown>> {
  if (Array.isArray(node)) for (const each of node) yield* schemasIn(each);
  else if (typeof node === 'object' && node !== null) {
    for (const [key, value] of Object.entries(node)) {
      if (key === 'schema') yield value as Record<string, unknown>;
      yield* schemasIn(value);
    }
  }
}

describe('the OpenAPI document', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let document: Document;

  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    const answer = await ask(hub.url, '/openapi.json');
    expect(answer.type).toMatch(/^application\/json/);
    document = documentSchema.parse(answer.json());
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a program that is written by the document misses a route', () => {
    const found = routesInSources();
    expect(found.length).toBeGreaterThanOrEqual(12);
    expect(operationsOf(document).sort()).toEqual(expect.arrayContaining(found.sort()));
  });

  test('a path names a part that no parameter describes', () => {
    for (const [path, item] of Object.entries(document.paths)) {
      for (const each of Object.values(item)) {
        const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name);
        const described = (each?.parameters ?? []).filter((one) => one.in === 'path');
        expect(described.map(({ name }) => name).sort()).toEqual(named.sort());
        expect(described.every(({ required }) => required === true)).toBe(true);
      }
    }
  });

  test('a schema speaks an older dialect than 3.1 has', () => {
    const schemas = [...schemasIn(document.paths)];
    expect(schemas.length).toBeGreaterThan(10);
    for (const each of schemas) {
      const text = JSON.stringify(each);
      // In 3.1 these are JSON Schema 2020-12: no `nullable`, and exclusive limits are numbers.
      expect(text).not.toMatch(/"nullable":|"exclusive(Minimum|Maximum)":(true|false)/);
      // The whole document must stand alone.
      expect(text).not.toMatch(/"\$ref":"(?!#\/)/);
    }
  });

  test('the document does not say that unknown fields are refused, or which field is needed', () => {
    const body = document.paths['/api/tests']?.post?.requestBody?.content['application/json']?.schema;
    expect(body?.['additionalProperties']).toBe(false);
    expect(body?.['required']).toEqual(expect.arrayContaining(['system', 'analyte', 'value']));
  });

  test('the document lists an address at which nothing answers', async () => {
    for (const one of operationsOf(document)) {
      const [method = '', path = ''] = one.split(' ');
      if (path === '/api/live') continue;
      const asked = method === 'GET' ? {} : { method, body: {} };
      const answer = await ask(hub.url, path.replace(/\{\w+\}/g, 'x'), asked);
      expect(answer.text).not.toContain('nothing answers');
      expect(answer.status).toBeLessThan(500);
    }
  });
});
