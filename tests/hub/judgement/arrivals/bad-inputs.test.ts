import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { patience } from '../../../servers/server-process.ts';
import { type Answer, ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, dayMs, startArrivalRoom } from './arrival-room.ts';

const startMs = Date.parse('2026-03-02T09:00:00Z');

describe('what a tired keeper types on the day new corals come', () => {
  let room: ArrivalRoom;
  const post = (path: string, body: unknown = {}): Promise<Answer> => ask(room.hub.url, path, { body });

  beforeAll(async () => {
    room = await startArrivalRoom(startMs);
    expect(
      (await post('/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date(startMs).toISOString() }))
        .status,
    ).toBe(201);
  });
  afterAll(() => room?.stop());

  test('a soak over the maximum is timed', async () => {
    const problem = problemIn(
      await post('/api/arrivals/a1/runs', { protocol: 'dip_and_inspect', soak_minutes: 12 }),
      422,
    );
    expect(problem.type).toBe('urn:brinekeep:problem:protocol_faulty');
    expect(problem.detail).toMatch(/^Step 3: A soak of 12 minutes .*at most 10/);
    expect(room.hub.store.document('arrivals-state')).not.toContain('a1-1');
  });

  test('a bath of negative litres is made, or one with less than half from the tank', async () => {
    const run = (bath: object) => post('/api/arrivals/a1/runs', { protocol: 'dip_and_inspect', baths: [bath] });
    expect(problemIn(await run({ bath_l: -2 }), 422).detail).toContain('bath, L is -2, allowed: 0.1 to 1000');
    expect(problemIn(await run({ bath_l: 4, tank_share: 0.4 }), 422).detail).toContain('0.4, allowed: 0.5 to 1');
    expect(
      problemIn(await post('/api/batches', { system: 'display', litres: -5, salt: 's', salt_g: 100 }), 400).errors?.[0]
        ?.field,
    ).toBe('litres');
    const prepare = {
      system: 'display',
      pieces: [{ count: 6, longest_cm: 5 }],
      vessel_l: -1,
      salinity: 35,
      grams_per_litre_at_35: 38,
    };
    expect(problemIn(await post('/api/arrivals/prepare', prepare), 422).detail).toContain('vessel, L is -1');
    const change = { system: 'display', volume_l: -10, water: { salinity: 35 } };
    room.measured('salinity', 35, startMs - 60_000, startMs);
    expect(problemIn(await post('/api/water-changes/plan', change), 422).detail).toContain('exchanged, L is -10');
  });

  test('a word where a number belongs ends in a stack trace, or reaches the hub', async () => {
    const prepare = ['arrival', 'prepare', '--system', 'display', '--vessel', '5'];
    for (const [flags, words] of [
      [['--pieces', 'six'], 'such as 6x5'],
      [['--pieces', '6x5', '--salinity', '35,1'], 'need a number'],
    ] as const) {
      const ended = await room.verb(...prepare, ...flags);
      expect([ended.code, ended.err]).toEqual([2, expect.stringContaining(words)]);
    }
    const refused = await room.verb('arrival', 'start', 'a1', '--protocol', 'dip_and_inspect', '--soak', '11');
    expect([refused.code, refused.err]).toEqual([1, expect.stringContaining('at most 10')]);
  });

  test('a light plan is laid over PAR that rises with depth', async () => {
    const day = { full_hours: 8 };
    const upsideDown = {
      pairs: [
        { height_cm: 10, par: 300 },
        { height_cm: 50, par: 90 },
      ],
    };
    const problem = problemIn(
      await post('/api/arrivals/a1/light', { profile: upsideDown, day, target: { par: 200 } }),
      422,
    );
    expect(problem.detail).toContain('light falls with depth');
    problemIn(await post('/api/arrivals/a1/light/hold', { for_days: 2 }), 409);
  });

  test('corals that are not here are dipped, or those that nobody knows', async () => {
    const planned = (await post('/api/arrivals', { system: 'display', name: 'Next week' })).json<{ id: string }>();
    expect(problemIn(await post(`/api/arrivals/${planned.id}/runs`, { protocol: 'dip_and_inspect' }), 409).title).toBe(
      'Not here yet',
    );
    problemIn(await post('/api/arrivals/a99/dips'), 404);
    problemIn(await post('/api/arrivals/a1/runs', { protocol: 'bleach' }), 404);
    problemIn(await post('/api/arrivals', { system: 'pond', name: 'Lost' }), 404);
    const tomorrow = new Date(startMs + dayMs).toISOString();
    problemIn(await post('/api/arrivals/a1/dips', { time: tomorrow }), 422);
  });

  test('a script that enters dips without end makes each later change slower', {
    timeout: 120_000 * patience(),
  }, async () => {
    const made = await post('/api/arrivals', {
      system: 'display',
      name: 'Loop',
      arrived: new Date(startMs).toISOString(),
    });
    const { id } = made.json<{ id: string }>();
    const answers = new Set<number>();
    for (let n = 0; n < 205 && !answers.has(422) && !answers.has(409); n += 1)
      answers.add((await post(`/api/arrivals/${id}/dips`)).status);
    const last = await post(`/api/arrivals/${id}/dips`);
    expect([last.status, last.json<{ detail: string }>().detail]).toEqual([
      expect.toBeOneOf([409, 422]),
      'found 200 dips of this arrival, allowed 200',
    ]);
    const { arrivals } = JSON.parse(room.hub.store.document('arrivals-state') ?? '{}') as {
      arrivals: { id: string; dipsMs: number[] }[];
    };
    expect(arrivals.find((each) => each.id === id)?.dipsMs).toHaveLength(200);
    expect((await ask(room.hub.url, `/api/arrivals/${id}`, { method: 'DELETE' })).status).toBeLessThan(300);
  });

  test('an arrival deleted in mid-soak takes its timer with it', async () => {
    const { id } = (await post('/api/arrivals/a1/runs', { protocol: 'repeat_dip' })).json<{ id: string }>();
    await post(`/api/runs/${id}/done`);
    await post(`/api/runs/${id}/done`);
    // A soak without a clock is not done.
    problemIn(await post(`/api/runs/${id}/done`), 409);
    expect((await post(`/api/runs/${id}/timer`)).status).toBe(200);
    problemIn(await post(`/api/runs/${id}/timer`), 409);
    for (const path of ['/api/arrivals/a1', `/api/runs/${id}`]) {
      const refused = problemIn(await ask(room.hub.url, path, { method: 'DELETE' }), 409);
      expect(refused.type).toBe('urn:brinekeep:problem:soak_runs');
      expect(refused.detail).toContain('Take them out, mark the soak done, then delete');
    }
    problemIn(await post('/api/arrivals/a1/close'), 409);
    await room.restart();
    const still = (await ask(room.hub.url, `/api/runs/${id}`)).json<{ timer: { left_seconds: number } }>();
    expect(still.timer.left_seconds).toBe(7 * 60);
    expect((await post(`/api/runs/${id}/done`, { early: true })).status).toBe(200);
    expect((await ask(room.hub.url, '/api/arrivals/a1', { method: 'DELETE' })).status).toBe(204);
    problemIn(await ask(room.hub.url, '/api/arrivals/a1'), 404);
    // The estimate expects no step of what never came.
    expect(room.hub.store.journal({ kind: 'arrival' }).filter(({ body }) => body['event'] === 'arrived')).toEqual([]);
  });

  test('a script or a film is kept as a photo, one is read from anywhere on the disk, or fills it', async () => {
    await post('/api/pieces', { system: 'display', kind: 'acropora' });
    const send = (bytes: Uint8Array<ArrayBuffer>, type: string, piece = 'p1') =>
      fetch(`${room.hub.url}/api/pieces/${piece}/photos`, {
        method: 'POST',
        headers: { 'content-type': type },
        body: bytes,
      });
    const png = Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 1, 2, 3]);
    const kept = await send(png, 'image/png');
    expect([kept.status, await kept.json()]).toEqual([201, { name: 'p1-1.png' }]);
    const shown = await fetch(`${room.hub.url}/api/photos/p1-1.png`);
    expect(shown.headers.get('content-type')).toBe('image/png');
    expect(new Uint8Array(await shown.arrayBuffer())).toEqual(png);
    // Two phones at once: each photo has a name of its own.
    const both = await Promise.all([send(png, 'image/png'), send(png, 'image/png')]);
    const names = await Promise.all(both.map(async (each) => ((await each.json()) as { name: string }).name));
    expect(names.sort()).toEqual(['p1-2.png', 'p1-3.png']);
    expect((await send(new TextEncoder().encode('<script>'), 'image/png')).status).toBe(422);
    expect((await send(png, 'text/html')).status).toBe(415);
    expect((await send(png, 'image/png', 'p77')).status).toBe(404);
    expect((await send(new Uint8Array(4 * 1024 * 1024 + 1), 'image/jpeg')).status).toBe(413);
    for (const name of ['..%2Fbrinekeep.db', 'p1-1.png%00', '%2Fetc%2Fpasswd', 'p1-9.png'])
      problemIn(await ask(room.hub.url, `/api/photos/${name}`), 404);
    expect(readdirSync(join(room.dir, 'data', 'photos'))).toEqual(['p1-1.png', 'p1-2.png', 'p1-3.png']);
  });
});
