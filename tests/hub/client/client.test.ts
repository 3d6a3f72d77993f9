import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import { createClient } from '#hub/client/generated.ts';
import { HubRefused, sendOverFetch } from '#hub/client/send.ts';
import type { Health } from '#hub/outside/observability/health.ts';
import type { Hub } from '#hub/room/hub.ts';
import { type JsonSchema, type OpenApiDocument, operationsOf } from '../../docs/openapi-document.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { clientFromOpenApi, typeOf } from './client-from-openapi.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe('the client that is written by the OpenAPI document', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let document: OpenApiDocument;

  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    document = await getJson<OpenApiDocument>(`${hub.url}/openapi.json`);
  });
  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('the client knows another API than the hub has: run `npm run docs`', () => {
    const committed = readFileSync(new URL('../../../hub/client/generated.ts', import.meta.url), 'utf8');
    expect(committed).toBe(clientFromOpenApi(document));
  });

  test('a function of the client asks at another address than its operation', async () => {
    type Call = (given: Record<string, unknown>) => Promise<{ method: string; path: string }>;
    const client = createClient(<Answer>(asked: unknown) => Promise.resolve(asked as Answer));
    const calls = client as unknown as Record<string, Call>;
    const operations = operationsOf(document).filter(({ id }) => calls[id] !== undefined);
    expect(operations.length).toBe(Object.keys(client).length);
    expect(operations.length).toBeGreaterThan(operationsOf(document).length - 5);
    for (const { id, method, path, inPath } of operations) {
      const names = Object.fromEntries(inPath.map(({ name }) => [name, 'a/b']));
      const asked = await calls[id]?.({ ...names, query: {}, body: {} });
      expect(asked).toMatchObject({ method, path: path.replace(/\{\w+\}/g, 'a%2Fb') });
    }
  });

  test('what a program enters by the client is not in the record', async () => {
    const client = createClient(sendOverFetch(hub.url));
    const test = { system: 'display', analyte: 'alkalinity', value: 2.9, unit: 'meq/L', by: 'Ana & Rui' } as const;
    const entered = await client.postTests({ body: test });
    // A degree of hardness is 10 mg/L of CaO (56.08 g/mol, two charges), so 1 meq/L is 2.80 dKH.
    expect(entered.value).toBeCloseTo(2.9 * 2.8, 1);
    const kept = await client.getEntries<KeptEntry[]>({ query: { system: 'display', kind: 'test' } });
    expect(kept.map(({ id, body }) => ({ id, by: body['by'] }))).toEqual([{ id: entered.id, by: 'Ana & Rui' }]);
    await client.postEntriesByIdWithdraw({ id: entered.id });
    expect(await client.getEntries<KeptEntry[]>({ query: { kind: 'test' } })).toEqual([]);
  });

  test('a refusal comes back as an answer, or without its reason', async () => {
    const client = createClient(sendOverFetch(hub.url));
    const refusal = await client
      .postTests({ body: { system: 'no-such', analyte: 'alkalinity', value: 8 } })
      .catch((error: unknown) => error);
    expect(refusal).toBeInstanceOf(HubRefused);
    expect((refusal as HubRefused).problem).toMatchObject({
      status: 404,
      type: 'urn:brinekeep:problem:unknown_system',
    });
    await expect(client.getArrivalsById({ id: 'a/../b?x' })).rejects.toThrow(/404/);
    await expect(createClient(sendOverFetch('http://127.0.0.1:1')).getRoom()).rejects.not.toBeInstanceOf(HubRefused);
  });

  test('an answer that is no JSON breaks the client', async () => {
    const client = createClient(sendOverFetch(hub.url));
    expect(await client.getMetrics<string>()).toContain('brinekeep_info');
    expect((await client.getHealth<Health>()).status).toBe('ok');
  });

  test('a schema comes out as a type that forbids what it allows', () => {
    expect(typeOf({ type: ['number', 'null'] }, 0)).toBe('number | null');
    expect(typeOf({ type: 'array', items: { enum: ['a', 'b'] } }, 0)).toBe('("a" | "b")[]');
    expect(
      typeOf({ type: 'object', propertyNames: { enum: ['ph'] }, additionalProperties: { type: 'number' } }, 0),
    ).toBe('Partial<Record<"ph", number>>');
    const schema: JsonSchema = {
      type: 'object',
      properties: { by: { type: 'string', default: 'page' } },
      required: ['by'],
    };
    expect(typeOf(schema, 0)).toContain('by?: string');
    expect(typeOf(schema, 0, true)).toContain('by: string');
    expect(() => typeOf({ type: 'wave' as 'string' }, 0)).toThrow(/wave/);
  });
});
