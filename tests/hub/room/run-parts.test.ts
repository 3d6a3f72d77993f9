import { expect, test } from 'vitest';
import { type Part, startParts } from '#hub/room/run-parts.ts';

function recorder() {
  const said: string[] = [];
  const log = { warn: (about: object, line: string) => void said.push(`${(about as { part: string }).part}: ${line}`) };
  const part = (name: string, more: Partial<Part> = {}): Part => ({
    name,
    start: () => void said.push(`start ${name}`),
    stop: () => void said.push(`stop ${name}`),
    ...more,
  });
  return { said, log, part };
}

test('the record closes while the page still writes to it', async () => {
  const { said, log, part } = recorder();
  const stop = await startParts(log, [part('record'), part('page'), part('probes')]);
  await stop();
  expect(said).toEqual(['start record', 'start page', 'start probes', 'stop probes', 'stop page', 'stop record']);
  await stop();
  expect(said).toHaveLength(6);
});

test('a port that is taken leaves the record open behind a hub that did not start', async () => {
  const { said, log, part } = recorder();
  const taken = part('page', { start: () => Promise.reject(new Error('EADDRINUSE')) });
  await expect(startParts(log, [part('record'), taken, part('probes')])).rejects.toThrow('EADDRINUSE');
  expect(said).toEqual(['start record', 'stop page', 'stop record']);
});

test('a broker that hangs, or a part that breaks while it stops, keeps the record from being closed', async () => {
  const { said, log, part } = recorder();
  const hangs = part('edges', { stop: () => new Promise(() => {}), stopWithinMs: 20 });
  const breaks = part('page', {
    stop() {
      throw new Error('broken');
    },
  });
  const stop = await startParts(log, [part('record'), breaks, hangs]);
  said.length = 0;
  await stop();
  expect(said).toEqual([
    'edges: a part did not end in time and is left',
    'page: a part did not end properly',
    'stop record',
  ]);
});
