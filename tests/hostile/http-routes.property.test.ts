import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { type Answer, ask, problemIn } from '../hub/http/ask.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { patience } from '../servers/server-process.ts';
import { damagedJson, editedText, edits, hostileJson, type KnownValues } from './from-schema.ts';
import { type Route, routesOf, strayAddress } from './open-api-routes.ts';

/** `HOSTILE_RUNS=2000 npx vitest run tests/hostile` for a long one. */
const runs = Number(process.env['HOSTILE_RUNS'] ?? 15);

const stocks = [
  { id: 'soda', name: 'Soda ash (invented)', substance: 'sodium_carbonate', grams_per_litre: 53, container_ml: 2000 },
  { id: 'lime', name: 'Calcium (invented)', substance: 'calcium_chloride_dihydrate', grams_per_litre: 70 },
];
const bands = {
  temperature: { low: 25, high: 26.5 },
  salinity: { low: 34, high: 36 },
  alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 },
  calcium: { low: 400, high: 450 },
};
const blocks = {
  systems: [
    { id: 'display', name: 'Display tank (invented)', volume_l: 420, bands, stocks },
    { id: 'frag', name: 'Frag tank (invented)', volume_l: 90, bands },
  ],
  probes: [
    { id: 'display-t', system: 'display', metric: 'temperature', mqtt: { topic: 'display/t' } },
    {
      id: 'display-ph',
      system: 'display',
      metric: 'ph',
      mqtt: { topic: 'display/ph' },
      temperature_probe: 'display-t',
    },
    {
      ...{ id: 'display-ec', system: 'display', metric: 'conductivity', mqtt: { topic: 'display/ec' } },
      temperature_probe: 'display-t',
    },
  ],
};

/** What stands in the room once `furnish` is done, so that most of what is generated gets past the first check. */
const known: KnownValues = {
  system: ['display', 'frag'],
  probes_of: ['display', 'frag'],
  bath_probes: ['frag'],
  stock: ['soda', 'lime'],
  substance: ['sodium_carbonate', 'calcium_chloride_dihydrate'],
  salt: ['reef salt'],
  probe: ['display-t', 'display-ph', 'display-ec'],
  protocol: ['standard'],
  alarm: ['display/temperature/out_of_band/high'],
  arrival: ['a1'],
  batch: ['b1'],
  run: ['a1-1', 'a1-2'],
  week: ['2026-W47', '1970-W01', '9999-W53', '0000-W00'],
  'arrivals.id': ['a1', 'a2', 'a3'],
  'runs.run': ['a1-1', 'a1-2'],
  'pieces.id': ['p1', 'p2', 'p3'],
  'batches.id': ['b1', 'b2'],
  'entries.id': [1, 2, 3, 4],
  'calibrations.id': [1, 2, 3],
  'water-changes.id': [1, 2, 3],
  'probes.id': ['display-t', 'display-ph'],
  'photos.name': ['p1-1.jpg'],
};

describe('whatever is sent to a route of the hub', () => {
  const scratch = scratchRoom();
  const config = configOf(roomText(scratch.dir, blocks));
  let hub: Hub;
  let routes: Route[];

  const post = (path: string, body: unknown) => ask(hub.url, path, { body });

  /** One of each thing that routes speak of. */
  async function furnish(): Promise<void> {
    const made = [
      await post('/api/tests', { system: 'display', analyte: 'alkalinity', value: 8.1 }),
      await post('/api/doses', { system: 'display', stock: 'soda', ml: 20 }),
      await post('/api/arrivals', { system: 'display', name: 'Frags', pieces: [{ kind: 'frag', count: 2 }] }),
      await post('/api/pieces', { system: 'display', kind: 'frag' }),
      await post('/api/batches', { system: 'display', litres: 40, salt: 'reef salt', salt_g: 1520 }),
    ];
    expect(made.map(({ status }) => status)).toEqual([201, 201, 201, 201, 201]);
    const { protocols } = (await ask(hub.url, '/api/protocols')).json<{ protocols: { id: string }[] }>();
    (known as Record<string, unknown[]>)['protocol'] = protocols.map(({ id }) => id);
  }

  beforeAll(async () => {
    hub = await startHubHere(config);
    await furnish();
    routes = await routesOf(hub.url, known);
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  function expectSound(route: string, sent: string, answer: Answer): void {
    const about = `${route} ${sent.slice(0, 600)} -> ${answer.status} ${answer.text.slice(0, 300)}`;
    expect(answer.status, about).toBeLessThan(500);
    expect(answer.status, about).toBeGreaterThanOrEqual(200);
    if (answer.status >= 400) problemIn(answer, answer.status);
    expect(({} as Record<string, unknown>)['polluted'], about).toBeUndefined();
    expect(JSON.stringify(answer.headers), about).not.toContain('a=b');
    expect(answer.headers['x-content-type-options'], about).toBe('nosniff');
  }

  async function expectAlive(): Promise<void> {
    const health = (await ask(hub.url, '/health')).json<{
      alive: boolean;
      causes: { part: string; cause: string }[];
    }>();
    expect(health.alive).toBe(true);
    // Where the machine is known to do much else, that the hub stood still is not the request's doing.
    const own = health.causes.filter(({ cause }) => patience() === 1 || !cause.includes('the machine is too busy'));
    expect(own.filter(({ part, cause }) => part === 'hub' || cause.includes('fault'))).toEqual([]);
  }

  test('makes it fail, or answer with anything but sense or problem details', {
    timeout: (60_000 + 10_000 * runs) * patience(),
  }, async () => {
    const statuses = new Map<number, number>();
    const failures: string[] = [];
    const slowest: { ms: number; what: string }[] = [];
    for (const { method, path, address, body } of routes) {
      const sent = fc.tuple(
        address,
        body ?? fc.constant(undefined),
        fc.constantFrom('whole', 'whole', 'part', 'bytes'),
        fc.nat(),
        fc.constantFrom(...hostileJson),
        edits,
      );
      const outcome = await fc.check(
        fc.asyncProperty(sent, async ([target, value, how, at, hostile, cuts]) => {
          const whole = JSON.stringify(value ?? {}) ?? 'null';
          const raw =
            how === 'whole' ? whole : how === 'part' ? damagedJson(value ?? {}, at, hostile) : editedText(whole, cuts);
          const hasBody = method !== 'GET' && (body !== undefined || how !== 'whole');
          const askedMs = performance.now();
          const answer = await ask(hub.url, target, {
            method,
            ...(hasBody
              ? {
                  raw,
                  headers: { 'content-type': 'application/json', 'content-length': String(Buffer.byteLength(raw)) },
                }
              : {}),
          });
          slowest.push({ ms: performance.now() - askedMs, what: `${method} ${target.slice(0, 100)}` });
          statuses.set(answer.status, (statuses.get(answer.status) ?? 0) + 1);
          expectSound(`${method} ${path} ${target}`, hasBody ? raw : '', answer);
        }),
        { numRuns: runs },
      );
      if (outcome.failed)
        failures.push(`${outcome.errorInstance} (seed ${outcome.seed}, path ${outcome.counterexamplePath})`);
    }
    expect(failures.join('\n')).toBe('');
    await expectAlive();
    // The generated requests must reach what lies behind the first check, else this test tells little.
    console.log(
      `answers by status: ${[...statuses]
        .sort()
        .map(([status, count]) => `${status}: ${count}`)
        .join(', ')}`,
    );
    const worst = slowest.toSorted((left, right) => right.ms - left.ms).slice(0, 5);
    console.log(`slowest: ${worst.map(({ ms, what }) => `${Math.round(ms)} ms ${what}`).join('; ')}`);
    expect(statuses.get(200) ?? 0).toBeGreaterThan(routes.length);
    expect(statuses.get(201) ?? 0).toBeGreaterThan(10);
  });

  test('at an address that is none, ends in anything but a refusal or the page', async () => {
    await fc.assert(
      fc.asyncProperty(
        strayAddress,
        fc.constantFrom('GET', 'POST', 'PUT', 'DELETE', 'OPTIONS'),
        async (target, method) => {
          expectSound(`${method} ${target}`, '', await ask(hub.url, target, { method }));
        },
      ),
      { numRuns: 4 * runs },
    );
    await expectAlive();
  });

  test.each([
    ['200 kB of open brackets', '['.repeat(200_000), 400],
    ['200 kB of nested objects', '{"a":'.repeat(40_000), 400],
    ['a nested document that is whole', `${'[1,'.repeat(20_000)}1${']'.repeat(20_000)}`, 400],
    ['20 000 keys', `{${Array.from({ length: 20_000 }, (_, each) => `"${each}":1`).join()}}`, 400],
    ['one key 10 000 times', `{${Array.from({ length: 10_000 }, () => '"value":1').join()}}`, 400],
    ['a body beyond the limit', `"${'x'.repeat(270_000)}"`, 413],
  ])('%s stops it', async (_what, raw, status) => {
    for (const path of ['/api/tests', '/api/arrivals', '/api/settings']) {
      problemIn(await ask(hub.url, path, { raw, headers: { 'content-type': 'application/json' } }), status);
    }
    await expectAlive();
  });

  test('leaves something behind with which the hub does not start again, or has kept a number that is none', {
    timeout: 60_000 * patience(),
  }, async () => {
    await hub.stop();
    hub = await startHubHere(config);
    await expectAlive();
    for (const path of [
      '/api/room',
      '/api/advice/display',
      '/api/estimates/display/alkalinity',
      '/api/arrivals',
      '/api/pieces',
      '/api/batches',
      '/api/entries?limit=1000',
      '/api/settings',
      '/api/configuration',
      '/metrics',
    ]) {
      const answer = await ask(hub.url, path);
      expect([path, answer.status]).toEqual([path, 200]);
    }
    // An infinity or NaN that was taken in stands as null in what was kept.
    const kept = (await ask(hub.url, '/api/entries?limit=1000')).json<{ body: unknown }[]>();
    expect(kept.map(({ body }) => JSON.stringify(body)).filter((text) => /[:,[]null/.test(text))).toEqual([]);
  });
});
