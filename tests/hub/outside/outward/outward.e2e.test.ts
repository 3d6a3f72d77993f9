import { execFile } from 'node:child_process';
import { join } from 'node:path';
import { promisify } from 'node:util';
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience } from '../../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const run = promisify(execFile);

describe.skipIf(isMissing('mosquitto'))('what the hub tells the broker of its readings', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let probe: MqttClient;
  let port: number;

  beforeAll(async () => {
    port = await freePort();
    const text = roomText(scratch.dir, {
      mqtt: { readings_every_seconds: 0.2 },
      broker: { port },
      probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
    });
    hub = await startHubHere(configOf(text), {}, join(scratch.dir, 'no-page'));
    probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`);
  });
  afterAll(async () => {
    await probe?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  /** As another program finds it when it connects later. */
  async function retained(topic: string): Promise<unknown> {
    const { stdout } = await run('mosquitto_sub', ['-p', String(port), '-t', topic, '-C', '1', '-W', '20']);
    return JSON.parse(stdout);
  }

  test('who connects later does not find the newest reading of a probe, nor the newest test', async () => {
    await probe.publishAsync('tank/t', '25.62', { qos: 1 });
    hub.entries.test({ system: 'display', analyte: 'alkalinity', value: 8.2, confirmed: true }, Date.now());
    expect(await retained('brinekeep/readings/display/temperature/t')).toMatchObject([
      { bn: 'display/temperature/', n: 't', u: 'Cel', v: 25.62 },
      { n: 't/flag' },
    ]);
    expect(await retained('brinekeep/readings/display/alkalinity/test')).toMatchObject([{ n: 'test', v: 8.2 }, {}]);
  });
});
