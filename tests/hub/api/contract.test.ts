import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { addressOf } from '#hub/api/address.ts';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';

type Document = { paths: Record<string, Record<string, unknown>> };

type Routes = Record<string, { summary: string; response?: Record<number, unknown> }>;

/** All that stands in the folder of the contract under a name that ends in `Api`: a new one need not be named here. */
async function wholeContract(): Promise<Routes> {
  const folder = fileURLToPath(new URL('../../../hub/api/', import.meta.url));
  const routes: Routes = {};
  for (const file of readdirSync(folder).filter((name) => name.endsWith('.ts'))) {
    const module: Record<string, unknown> = await import(join(folder, file));
    for (const [name, exported] of Object.entries(module)) if (name.endsWith('Api')) Object.assign(routes, exported);
  }
  return routes;
}

const contract = await wholeContract();
/** A stream, text for another program, and files. */
const withoutSchema = [
  'GET /api/live',
  'GET /api/photos/:name',
  'GET /api/weeks/:week/:file',
  'GET /api/weeks/:week/review.html',
  'GET /metrics',
];

const probe = { id: 'heater', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/heater' } };

describe('the contract of the API', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let document: Document;

  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir, { probes: [probe] })));
    document = await getJson<Document>(`${hub.url}/openapi.json`);
  });
  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a route is not of the contract, or the contract has one that the hub does not', () => {
    const served = Object.entries(document.paths).flatMap(([path, operations]) =>
      Object.keys(operations).map((method) => `${method.toUpperCase()} ${path.replace(/\{(\w+)\}/g, ':$1')}`),
    );
    expect(served.toSorted()).toEqual(Object.keys(contract).toSorted());
    expect(served.length).toBeGreaterThan(20);
  });

  test('an answer goes out without a schema', () => {
    const bare = Object.entries(contract).filter(([, route]) => route.response === undefined);
    expect(bare.map(([route]) => route).toSorted()).toEqual(withoutSchema);
  });

  test('an answer has another form than the contract says', async () => {
    const test = await fetch(`${hub.url}/api/tests`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ system: 'display', analyte: 'alkalinity', value: 12, confirmed: true }),
    });
    expect(test.status).toBe(201);
    const span = 'from=2026-01-01T00:00:00Z&to=2026-01-02T00:00:00Z';
    for (const [route, path] of [
      ['GET /api/alarms', '/api/alarms'],
      ['GET /api/advice/:system', '/api/advice/display'],
      ['GET /api/bands/:system/:metric', `/api/bands/display/alkalinity?${span}`],
      ['GET /api/batches', '/api/batches'],
      ['GET /api/containers/:system', '/api/containers/display'],
      ['GET /api/entries', '/api/entries'],
      ['GET /api/estimates/:system/:analyte', '/api/estimates/display/alkalinity'],
      ['GET /api/maintenance', '/api/maintenance'],
      ['GET /api/probes', '/api/probes'],
      ['GET /api/probes/:id', '/api/probes/heater'],
      ['GET /api/calibrations', '/api/calibrations?probe=heater'],
      ['GET /api/arrivals', '/api/arrivals'],
      ['GET /api/protocols', '/api/protocols'],
      ['GET /api/pests', '/api/pests'],
      ['GET /api/fleet', '/api/fleet'],
      ['GET /api/settings', '/api/settings'],
      ['GET /api/configuration', '/api/configuration'],
      ['GET /api/calibration-standards', '/api/calibration-standards?temperature_C=25'],
      ['GET /api/marks/:system', '/api/marks/display?from=2026-01-01T00:00:00Z&to=2099-01-01T00:00:00Z'],
      ['GET /api/now', '/api/now'],
      ['GET /api/pieces', '/api/pieces'],
      ['GET /api/room', '/api/room'],
      ['GET /api/session', '/api/session'],
      ['GET /health', '/health'],
    ] as const) {
      const schema = contract[route]?.response?.[200] as { parse(value: unknown): unknown };
      const answer = await getJson<unknown>(`${hub.url}${path}`);
      // Nothing is cut away, and nothing is missing.
      expect(schema.parse(answer)).toEqual(answer);
    }
    for (const path of [
      'alarms',
      'entries',
      'advice/display',
      'marks/display?from=2026-01-01T00:00:00Z&to=2099-01-01T00:00:00Z',
    ])
      expect(await getJson<unknown[]>(`${hub.url}/api/${path}`)).not.toEqual([]);
  });

  test('a name with a slash or a blank leads to another address', () => {
    expect(addressOf('GET /api/batches/:id/match', { params: { id: 'a/../b ?' } })).toEqual({
      ...{ method: 'GET', path: '/api/batches/a%2F..%2Fb%20%3F/match', body: undefined },
    });
    expect(addressOf('GET /api/entries', { query: { kind: 'test', system: 'a&b' } }).path).toBe(
      '/api/entries?kind=test&system=a%26b',
    );
    expect(addressOf('POST /api/entries/:id/withdraw', { params: { id: 7 }, body: {} })).toMatchObject({
      ...{ method: 'POST', path: '/api/entries/7/withdraw', body: {} },
    });
  });
});
