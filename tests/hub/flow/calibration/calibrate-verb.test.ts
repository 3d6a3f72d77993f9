import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { verbHere } from '../../cli/verb-here.ts';
import { ask, problemIn } from '../../http/ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const thermometer = { system: 'display', probe: 'tank_t', metric: 'temperature' } as const;
const who = ['--by', 'Ana', '--why', 'a new thermometer beside it'];
const probes = [
  { id: 'tank_t', system: 'display', metric: 'temperature', mqtt: { topic: 'room/t' } },
  { id: 'tank_ph', system: 'display', metric: 'ph', signal: 'mV', mqtt: { topic: 'room/ph' } },
];

describe('a keeper calibrates at the running hub', () => {
  const scratch = scratchRoom();
  const file = join(scratch.dir, 'room.yaml');
  let hub: Hub;
  let client: MqttClient;
  const start = async () => {
    const text = roomText(scratch.dir, { probes, http: { port: await freePort() } });
    writeFileSync(file, text);
    hub = await startHubHere(configOf(text));
    client = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
  };
  const stop = async () => {
    await client?.endAsync();
    await hub?.stop();
  };
  const calibrate = (...args: string[]) => verbHere(['calibrate', ...args, '--config', file]);
  const readings = () => hub.store.readings(thermometer, 0, Number.MAX_SAFE_INTEGER);
  const publish = async (value: number) => {
    const before = readings().length;
    await client.publishAsync('room/t', String(value), { qos: 1 });
    await waitUntil('a reading is stored', () => readings().length > before);
  };

  beforeAll(start);

  afterAll(async () => {
    await stop();
    scratch.remove();
  });

  test('the verdict of a dry run is kept, or a calibration is not in force for the next reading', async () => {
    await publish(25);
    const linear = ['linear', '--probe', 'tank_t', '--offset', '-0.25', ...who];
    const dry = await calibrate(...linear, '--dry-run');
    expect(dry).toMatchObject({ code: 0, err: '' });
    expect(dry.out).toContain('nothing was kept');
    await publish(25);
    const kept = await calibrate(...linear, '--time', '2026-01-05T08:00:00Z');
    expect(kept.out).toMatch(/saved as \d+/);
    expect(kept.out).toContain('brinekeep calibrate apply');
    await publish(25);
    expect(readings().map(({ value }) => value)).toEqual([25, 25, 24.75]);
  });

  test('the readings of before are not corrected when a person asks for it', async () => {
    const { calibrations } = (await ask(hub.url, '/api/calibrations?probe=tank_t')).json<{
      calibrations: { id: number; time: string; by: string; why: string }[];
    }>();
    expect(calibrations).toMatchObject([{ time: '2026-01-05T08:00:00.000Z', by: 'Ana', why: who[3] }]);
    const id = String(calibrations[0]?.id);
    const apply = ['apply', id, '--from', '2026-01-05T08:00:00Z', '--to', new Date().toISOString(), '--by', 'Ana'];
    // More than 400 days at once is a slip, and so is a calibration that is not there.
    expect(await calibrate('apply', '999', ...apply.slice(2))).toMatchObject({ code: 1, out: '' });
    const first = new Date(readings()[0]!.timeMs).toISOString();
    apply[3] = first;
    expect((await calibrate(...apply)).out).toContain('corrected: 2 readings');
    expect(readings().map(({ value }) => value)).toEqual([24.75, 24.75, 24.75]);
    expect((await calibrate(...apply)).out).toContain('corrected: 0 readings');
    const notes = hub.store.journal({ kind: 'note' });
    expect(notes).toHaveLength(1);
    expect(notes[0]?.body).toMatchObject({ calibration: Number(id), probe: 'tank_t', by: 'Ana', readings: 2 });
  });

  test('a worn electrode is not told of before it is calibrated', async () => {
    const points = ['7.00,25,0mV', '10.00,25,-141.98mV'];
    const said = await calibrate('ph', '--probe', 'tank_ph', ...who, '--dry-run', ...points);
    expect(said.out).toContain('verdict: replace');
    expect(said.out).toContain('slope: found 80 %');
    expect(await calibrate('ph', '--probe', 'tank_ph', ...who, '7.00,25')).toMatchObject({ code: 2 });
  });

  test('the calibration is gone after a restart', async () => {
    await stop();
    await start();
    await publish(26);
    expect(readings().at(-1)?.value).toBe(25.75);
    const list = await calibrate('list', '--probe', 'tank_t');
    expect(list.out).toContain('sends 26 °C');
    expect(list.out).toContain('a new thermometer beside it');
  });

  test('a calibration that was taken back goes on correcting', async () => {
    const { calibrations } = (await ask(hub.url, '/api/calibrations?probe=tank_t')).json<{
      calibrations: { id: number }[];
    }>();
    const path = `/api/entries/${calibrations[0]?.id}/withdraw`;
    expect((await ask(hub.url, path, { body: { by: 'Ana' } })).status).toBeLessThan(300);
    await publish(26);
    expect(readings().at(-1)?.value).toBe(26);
  });

  test('what cannot be done is refused without a word, or is missing in the API document', async () => {
    const post = (path: string, body: unknown) => ask(hub.url, path, { body });
    const linear = { kind: 'linear', probe: 'tank_t', slope: 1, offset: 0, by: 'Ana', why: 'a check' };
    expect(problemIn(await post('/api/calibrations', { ...linear, probe: 'nobody' }), 404).detail).toContain('nobody');
    expect(problemIn(await post('/api/calibrations', { ...linear, by: undefined }), 400).detail).toContain('by');
    expect(problemIn(await post('/api/calibrations', { ...linear, slope: 0 }), 422).detail).toContain('slope');
    const span = { from: '2020-01-01T00:00:00Z', to: '2026-01-01T00:00:00Z', by: 'Ana' };
    problemIn(await post('/api/calibrations/999/apply-to-history', span), 404);
    const { id } = (await post('/api/calibrations', linear)).json<{ id: number }>();
    const refused = problemIn(await post(`/api/calibrations/${id}/apply-to-history`, span), 422);
    expect(refused.detail).toContain('400 days');
    const { paths } = (await ask(hub.url, '/openapi.json')).json<{ paths: Record<string, object> }>();
    expect(Object.keys(paths['/api/calibrations'] ?? {})).toEqual(['post', 'get']);
    expect(paths).toHaveProperty(['/api/calibrations/{id}/apply-to-history', 'post']);
  });
});
