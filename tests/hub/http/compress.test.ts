import { request } from 'node:http';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Sent = { headers: Record<string, string | string[] | undefined>; body: Buffer };

describe('what goes over a slow network', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  const get = (path: string, accepted?: string): Promise<Sent> =>
    new Promise((resolve, reject) => {
      const headers = accepted === undefined ? {} : { 'accept-encoding': accepted };
      const sent = request(new URL(path, hub.url), { headers, agent: false }, (response) => {
        const parts: Buffer[] = [];
        response.on('data', (part: Buffer) => {
          parts.push(part);
          // A stream of events never ends.
          if (String(response.headers['content-type']).includes('event-stream')) {
            resolve({ headers: response.headers, body: Buffer.concat(parts) });
            sent.destroy();
          }
        });
        response.on('end', () => resolve({ headers: response.headers, body: Buffer.concat(parts) }));
        response.on('error', () => {});
      });
      sent.on('error', reject);
      sent.end();
    });

  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a long answer leaves as it is, or cannot be read by whoever does not take gzip', async () => {
    const plain = await get('/openapi.json');
    expect(plain.headers['content-encoding']).toBeUndefined();
    const packed = await get('/openapi.json', 'br, gzip;q=0.8');
    // @source RFC 9110, 8.4.1.3 and 12.5.5
    expect(packed.headers).toMatchObject({
      'content-encoding': 'gzip',
      vary: expect.stringContaining('accept-encoding'),
    });
    expect(packed.body.length).toBeLessThan(plain.body.length / 3);
    expect(JSON.parse(gunzipSync(packed.body).toString('utf8'))).toEqual(JSON.parse(plain.body.toString('utf8')));
    // @source RFC 9110, 12.4.2: a weight of 0 is "not acceptable"
    expect((await get('/openapi.json', 'gzip;q=0')).headers['content-encoding']).toBeUndefined();
  });

  test('the live page waits for a compressor', async () => {
    const live = await get('/api/live', 'gzip');
    expect(live.headers['content-encoding']).toBeUndefined();
    expect(live.body.toString('utf8')).toContain('event: hello');
  });
});
