import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { LightView } from '#hub/api/light.ts';
import type { Hub } from '#hub/room/hub.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';
import { ask, problemIn } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const daysAgo = (days: number) => new Date(Date.now() - days * 86_400_000).toISOString();

describe('lamps and daily light', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  let hub: Hub;

  beforeAll(async () => {
    writeFileSync(path, roomText(scratch.dir, { http: { port: await freePort() } }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  const lamp = (name: string, time: string, full_hours = 8) =>
    ask(hub.url, '/api/light/display/lamp', {
      body: { name, on_at: '10:00', full_hours, ramp_up_hours: 1, ramp_down_hours: 1, time },
    });
  const par = (places: [number, number][], time: string) =>
    ask(hub.url, '/api/light/display/par', {
      body: { places: places.map(([height_cm, each]) => ({ height_cm, par: each })), time },
    });
  const light = () => getJson<LightView>(`${hub.url}/api/light/display`);

  test('the daily light of a piece is another than its PAR and hours make', async () => {
    expect((await light()).text[0]).toContain('No lamp entered');
    await lamp('Old lamp', daysAgo(60));
    await par(
      [
        [10, 100],
        [50, 200],
      ],
      daysAgo(59),
    );
    const piece = { system: 'display', kind: 'Acropora', place: 'ledge', height_cm: 50 };
    expect((await ask(hub.url, '/api/pieces', { body: piece })).status).toBe(201);
    const told = await light();
    // 200 µmol/m²/s for 8 h and two ramps of 1 h that count half: 200 × 9 × 3600 / 1e6.
    expect(told.pieces).toEqual([expect.objectContaining({ height_cm: 50, par: 200, dli: expect.closeTo(6.48, 9) })]);
    expect(told.change).toBeNull();
  });

  test('a new lamp burns the pieces, or its setting of the day is not told', async () => {
    await lamp('New lamp', daysAgo(2.5));
    expect((await light()).text.join(' ')).toContain('Measure PAR at two heights or more under this lamp.');
    await par(
      [
        [10, 150],
        [50, 400],
      ],
      daysAgo(2.4),
    );
    const { change, cautions, text } = await light();
    expect(change?.heights).toEqual([expect.objectContaining({ height_cm: 50, ratio: expect.closeTo(2, 9) })]);
    expect(change?.days[0]?.share).toBeCloseTo(0.5, 9);
    expect(change?.today).toBe(3);
    // 0.5 × 1.15².
    expect(text.join(' ')).toContain('Today set it to 66 % (day 3 of 6); at most 15 % more each day.');
    expect(cautions.join(' ')).toContain('residual-current device');
    const verb = await verbHere(['lamp', 'show', 'display', '--config', path]);
    expect(verb.out).toContain('  day 3: 66 %  <- today');
    expect(verb.out).toContain('! A piece that pales gets too much');
  });

  test('other hours of the same lamp make its PAR void, or count for nothing', async () => {
    const args = ['lamp', 'hang', 'display', 'New lamp', '--on', '09:00', '--full-hours', '11'];
    const verb = await verbHere([...args, '--ramp-up-hours', '1', '--ramp-down-hours', '1', '--config', path]);
    expect(verb.err).toBe('');
    const told = await light();
    expect(told.places).toHaveLength(2);
    // 12 hours instead of 9.
    expect(told.change?.heights[0]?.ratio).toBeCloseTo(12 / 9, 9);
    const measured = await verbHere(['lamp', 'par', 'display', '--par', '30=260', '--config', path]);
    expect(measured.out).toContain('30 cm: PAR 260, 11.2 mol/m² a day');
  });

  test('hours that are no number reach the hub', async () => {
    const { text } = await light();
    const verb = await verbHere([
      'lamp',
      'hang',
      'display',
      'Odd',
      '--on',
      '09:00',
      '--full-hours',
      'ten',
      '--config',
      path,
    ]);
    expect(verb.err).toMatch(/--full-hours.*ten/);
    expect((await light()).text).toEqual(text);
  });

  test('the rack of new arrivals goes on as if the old lamp hung there', async () => {
    const arrived = await ask(hub.url, '/api/arrivals', {
      body: { system: 'display', name: 'Frags', arrived: daysAgo(0) },
    });
    const { id } = arrived.json<{ id: string }>();
    // The old lamp, 9 hours' worth of full light.
    const profile = {
      pairs: [
        { height_cm: 10, par: 100 },
        { height_cm: 50, par: 240 },
      ],
    };
    const day = { full_hours: 8, ramp_up_hours: 1, ramp_down_hours: 1 };
    // 210 µmol/m²/s × 9 h are 157.5 in the 12 h of the new lamp, which it has (150 at 10 cm, 400 at 50) at 10 + 40 × ln 1.05 / ln 2.667 = 12 cm.
    const body = { profile, day, start: { par: 210 }, target: { par: 230 }, days: 2 };
    expect((await ask(hub.url, `/api/arrivals/${id}/light`, { body })).status).toBe(200);
    const verb = await verbHere(['lamp', 'rack', 'display', id, '--config', path]);
    expect(verb.err).toBe('');
    expect(verb.out).toMatch(/^day 1: 12 cm, PAR 15[78], 6\.8 mol\/m² a day/);
    problemIn(await ask(hub.url, '/api/light/display/arrivals/none', { body: {} }), 404);
  });

  test('hours of more than a day, two PAR at one height or an unknown tank are taken', async () => {
    problemIn(await lamp('Odd', daysAgo(0), 23.5), 400);
    problemIn(
      await par(
        [
          [10, 100],
          [10, 120],
        ],
        daysAgo(0),
      ),
      422,
    );
    problemIn(await ask(hub.url, '/api/light/nowhere'), 404);
  });
});
