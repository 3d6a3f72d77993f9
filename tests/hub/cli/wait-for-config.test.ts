import { writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { afterAll, describe, expect, test, vi } from 'vitest';
import { waitForConfig } from '#hub/cli/wait-for-config.ts';
import { freePort } from '../../servers/free-port.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { ask } from '../http/ask.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Told = { status: number; detail: string; errors: { line?: number; path?: string; text: string }[] };

describe('a hub that is started with a broken configuration', () => {
  const scratch = scratchRoom();
  afterAll(scratch.remove);
  const path = join(scratch.dir, 'room.yaml');
  const never = new Promise<never>(() => {});

  function waiting(stopping: Promise<unknown> = never) {
    const said: string[] = [];
    const toldManager: string[] = [];
    const config = waitForConfig(path, {
      terminal: {
        input: new PassThrough(),
        output: new PassThrough(),
        print: (line) => said.push(line),
        complain: (line) => said.push(line),
      },
      serviceManager: {
        watchdogMs: 1,
        ready: () => toldManager.push('ready'),
        alive: () => toldManager.push('alive'),
        stopping() {},
      },
      stopping,
    });
    const url = () => /Open (http\S+)/.exec(said.join('\n'))?.[1] ?? '';
    return { config, said, toldManager, url };
  }

  test('whoever opens the page finds a dead address, one mistake of many, or has to start the hub again', async () => {
    const port = await freePort();
    const good = roomText(scratch.dir, { http: { port } });
    writeFileSync(
      path,
      good.replace('"volume_l":420', '"volume_l":"<lots>"').replace('Europe/Lisbon', 'Europe/Lisboa'),
    );
    const { config, said, toldManager, url } = waiting();
    await waitUntil('the page is said to be open', () => url() !== '');
    expect(url()).toBe(`http://127.0.0.1:${port}`);
    const page = await ask(url(), '/');
    expect(page.status).toBe(503);
    expect(page.type).toContain('text/html');
    expect(page.text).toContain('The configuration has 2 mistakes: nothing is watched');
    expect(page.text).toContain('&lt;lots&gt;');
    expect(page.text).not.toContain('<lots>');
    expect(page.text).toContain('Europe/Lisboa');
    const answer = await ask(url(), '/api/room');
    expect(answer.type).toContain('application/problem+json');
    const told = answer.json<Told>();
    expect(told.status).toBe(503);
    const lines = good.split('\n');
    expect(told.errors.map(({ line }) => line)).toEqual(
      ['site:', 'systems:'].map((word) => 1 + lines.findIndex((line) => line.startsWith(word))),
    );
    // By another name it may be a page of somebody else that asks: what stands in the file is not for it.
    const stranger = await ask(url(), '/api/room', { headers: { host: 'elsewhere.example' } });
    expect(stranger.json<Told>().errors).toHaveLength(2);
    expect(stranger.text).not.toMatch(/lots|Lisboa/);
    expect(said.join('\n')).toMatch(/volume_l/);
    expect(toldManager[0]).toBe('ready');
    await waitUntil('the service manager hears of it', () => toldManager.includes('alive'));
    writeFileSync(path, good);
    expect((await config)?.config.systems[0]?.volume_l).toBe(420);
    await expect(ask(url(), '/')).rejects.toThrow();
  });

  test('it cannot be stopped while it waits', async () => {
    writeFileSync(path, `http: {port: ${await freePort()}}\nsystems: [`);
    let stop = () => {};
    const { config, url } = waiting(
      new Promise<void>((resolve) => {
        stop = resolve;
      }),
    );
    // Of this file not even the port can be read: the usual one is opened, or the reason why not is given.
    const ended = config.then(
      (found) => found,
      (error: Error) => error.message,
    );
    await Promise.race([ended, waitUntil('the page is said to be open', () => url() !== '')]);
    stop();
    const found = await ended;
    expect(found ?? 'stopped').toMatch(/^stopped$|cannot open 127\.0\.0\.1:8740/);
  });

  test('a port that is taken is waited for in silence', async () => {
    const other = createServer();
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', () => resolve()));
    const address = other.address();
    const port = typeof address === 'object' && address !== null ? address.port : 0;
    writeFileSync(path, roomText(scratch.dir, { http: { port }, site: { name: 7 } }));
    const { code, err } = await verbHere(['run', '--wait-for-config', path]);
    other.close();
    expect(code).toBe(1);
    expect(err).toContain(`cannot open 127.0.0.1:${port}`);
    expect(err).toMatch(/site\.name/);
  });

  test('without being told to wait, run goes on as if nothing were wrong', async () => {
    writeFileSync(path, roomText(scratch.dir, { site: { name: 7 } }));
    const broken = await verbHere(['run', path]);
    expect([broken.code, broken.err]).toEqual([1, expect.stringContaining('1 mistake')]);
    const missing = await verbHere(['run', join(scratch.dir, 'nowhere.yaml')]);
    expect([missing.code, missing.err]).toEqual([2, expect.stringContaining('there is no such file')]);
  });
});
