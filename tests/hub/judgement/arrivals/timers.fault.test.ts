import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { isMissing } from '../../../machine/parts.mjs';
import { type HubProcess, postJson, roomText, scratchRoom, startHubProcess } from '../../../servers/hub-process.ts';
import { type Mosquitto, type MosquittoSub, mosquittoSub, startMosquitto } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

/** Seconds where a real soak has minutes: over after 3, at its maximum after 6. */
const quickDip = `id: quick
name: Quick dip (invented)
steps:
  - {step: dip_bath, tank_share: 1}
  - {step: soak, minutes: 0.05, most_minutes: 0.1}
  - {step: swirl_and_rinse_off}
`;

type Health = { edges: { name: string; up: boolean }[]; outbox: { mqtt: { waiting: number } } };

describe.skipIf(isMissing('mosquitto'))('a power cut while pieces lie in the dip', () => {
  const scratch = scratchRoom();
  const stops: (() => Promise<unknown> | undefined)[] = [];
  afterEach(async () => {
    for (const stop of stops.reverse()) await stop();
    scratch.remove();
  });

  test(
    'the timer dies with the hub, or rings anew for what it has rung',
    async () => {
      const protocols = join(scratch.dir, 'protocols');
      mkdirSync(protocols);
      writeFileSync(join(protocols, 'quick.yaml'), quickDip);
      const broker: Mosquitto = await startMosquitto();
      stops.push(() => broker.stop());
      const phone: MosquittoSub = await mosquittoSub(broker.port, 'brinekeep/phone', ['-c', '-i', 'phone']);
      stops.push(() => phone.stop());
      const text = roomText(scratch.dir, {
        mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
        protocols_dir: protocols,
      });
      let hub: HubProcess = await startHubProcess(scratch.dir, text);
      stops.push(() => hub.end('SIGKILL'));
      const post = async (path: string, body: unknown = {}) => {
        const response = await postJson(`${hub.url}${path}`, body);
        expect(response.ok, await response.clone().text()).toBe(true);
      };
      const linesWith = (words: string) => phone.lines().filter((line) => line.includes(words));

      await post('/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date().toISOString() });
      await post('/api/arrivals/a1/runs', { protocol: 'quick' });
      await post('/api/runs/a1-1/done');
      await post('/api/runs/a1-1/timer');
      await hub.end('SIGKILL');
      hub = await startHubProcess(scratch.dir, text);
      // However long the start took: past the maximum it says where the soak stands.
      await waitUntil('the phone rings at the maximum', () => linesWith('MAXIMUM REACHED').length > 0, {
        withinMs: 30_000,
        explain: () => phone.lines().join('\n'),
      });
      const delivered = () =>
        waitUntil('all is delivered', async () => {
          const health = (await (await fetch(`${hub.url}/health`)).json()) as Health;
          return health.edges.some(({ name, up }) => name === 'mqtt' && up) && health.outbox.mqtt.waiting === 0;
        });
      const run = (await (await fetch(`${hub.url}/api/runs/a1-1`)).json()) as { timer: { maximum: string } };
      await delivered();
      await hub.end('SIGKILL');
      hub = await startHubProcess(scratch.dir, text);
      await post('/api/runs/a1-1/done');
      // At the maximum and each minute past it, whatever was killed in between.
      const mostCalls = 1 + Math.floor((Date.now() - Date.parse(run.timer.maximum)) / 60_000);
      await delivered();
      expect(linesWith('MAXIMUM REACHED').length).toBeLessThanOrEqual(mostCalls);
      expect(linesWith('the soak is over').length).toBeLessThanOrEqual(1);
    },
    120_000 * patience(),
  );
});
