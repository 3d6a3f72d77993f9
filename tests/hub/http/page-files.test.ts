import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { buildPage } from '../../browser/page-kit.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const scratch = scratchRoom();
const pageDir = join(scratch.dir, 'page');
let hub: Hub;

beforeAll(async () => {
  await buildPage(pageDir);
  hub = await startHubHere(configOf(roomText(scratch.dir)), {}, pageDir);
});
afterAll(async () => {
  await hub?.stop();
  scratch.remove();
});

/** The bytes as they come over the line. */
function get(path: string, accepted: string): Promise<{ encoding: string | undefined; body: Buffer }> {
  return new Promise((resolve, reject) => {
    const headers = { 'accept-encoding': accepted };
    request(new URL(path, hub.url), { headers, agent: false }, (response) => {
      const parts: Buffer[] = [];
      response.on('data', (part: Buffer) => parts.push(part));
      response.on('end', () => resolve({ encoding: response.headers['content-encoding'], body: Buffer.concat(parts) }));
    })
      .once('error', reject)
      .end();
  });
}

test.each(['index.html', 'service-worker.js'])('the hub compresses %s each time that a phone asks', async (file) => {
  const whole = readFileSync(join(pageDir, file));
  // The very bytes that the build laid beside the file, and not those of a compressor of the hub.
  const built = readFileSync(join(pageDir, `${file}.gz`));
  expect(gunzipSync(built).equals(whole)).toBe(true);
  const packed = await get(`/${file}`, 'gzip');
  expect(packed.encoding).toBe('gzip');
  expect(packed.body.equals(built)).toBe(true);
  const plain = await get(`/${file}`, 'identity');
  expect(plain.encoding).toBeUndefined();
  expect(plain.body.equals(whole)).toBe(true);
});
