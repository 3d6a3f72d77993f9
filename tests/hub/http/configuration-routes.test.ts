import { chmodSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import pino from 'pino';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeOver } from '#adapters/csv/write-over.ts';
import type { KeptEntry } from '#adapters/ports/store.ts';
import type { ConfigurationView } from '#hub/api/configuration.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import { configFile } from '#hub/model/settings/config-file.ts';
import { type Hub, startHub } from '#hub/room/hub.ts';
import { getJson, roomText, scratchRoom } from '../../servers/hub-process.ts';
import { ask, problemIn } from './ask.ts';

describe('a configuration that is changed on the page', () => {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  const text = `# kept by Ana\n${roomText(scratch.dir, {})}`;
  let startedAgain = 0;
  let hub: Hub;
  const look = () => getJson<ConfigurationView>(`${hub.url}/api/configuration`);
  const post = (verb: string, body: unknown) =>
    ask(hub.url, `/api/configuration/${verb}`, { body, headers: { origin: hub.url } });
  const seenNow = async () => (await look()).editable?.seen ?? '';
  const volume = (value: number) => [{ path: 'systems.display.volume_l', value }];

  beforeAll(async () => {
    writeFileSync(path, text, { mode: 0o640 });
    const readFile = (file: string) => readFileSync(file, 'utf8');
    const loaded = loadConfig(text, path, {}, readFile);
    if (!loaded.ok) throw new Error(loaded.problems.map((problem) => problem.text).join('\n'));
    hub = await startHub(loaded.config, adaptersForVerbs.hub, {
      ...{ pageDir: join(scratch.dir, 'nowhere'), log: pino({ level: 'silent' }), isInvented: false },
      secrets: { env: {}, readFile },
      configFile: configFile(path, text, {
        ...{ env: {}, readFile, writeFile: writeOver },
        startAgain: () => {
          startedAgain += 1;
        },
      }),
    });
  });

  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a change is written without being shown, or cannot be gone back from', async () => {
    const seen = await seenNow();
    const shown = await post('preview', { changes: volume(400), seen });
    expect(shown.status).toBe(200);
    const { difference } = shown.json<{ difference: { is: string; text: string }[] }>();
    expect(difference.map(({ is }) => is)).toEqual(['out', 'in']);
    expect(difference.map((line) => line.text).join('\n')).toMatch(/420[\s\S]*400/);
    expect(readFileSync(path, 'utf8')).toBe(text);
    expect((await post('change', { changes: volume(400), seen, by: 'Ana' })).status).toBe(204);
    const written = readFileSync(path, 'utf8');
    expect(written).toMatch(/^# kept by Ana\n/);
    expect(written).not.toBe(text);
    expect(startedAgain).toBe(1);
    const told = await look();
    expect(told.file).toMatchObject({ state: 'changed', problems: [] });
    expect(told.editable?.last_change).toMatchObject({ by: 'Ana' });
    const notes = await getJson<KeptEntry[]>(`${hub.url}/api/entries?kind=note`);
    expect(notes.map(({ body }) => body['note'])).toContainEqual(
      'configuration changed on the page: systems.display.volume_l: 400',
    );
    expect((await post('back', { seen: told.editable?.seen ?? '' })).status).toBe(204);
    expect(readFileSync(path, 'utf8')).toBe(text);
    expect((await look()).editable?.last_change).toBeNull();
  });

  test('what somebody wrote into the file meanwhile is lost', async () => {
    const seen = await seenNow();
    const byHand = text.replace('# kept by Ana', '# kept by Rui');
    writeFileSync(path, byHand);
    for (const [verb, body] of [
      ['preview', { changes: volume(300), seen }],
      ['change', { changes: volume(300), seen }],
      ['back', { seen }],
    ] as const)
      expect(problemIn(await post(verb, body), 409).type).toBe('urn:brinekeep:problem:changed_meanwhile');
    expect(readFileSync(path, 'utf8')).toBe(byHand);
    writeFileSync(path, text);
  });

  test('a change with which the hub would not start is written', async () => {
    const seen = await seenNow();
    const upside = [{ path: 'systems.display.bands.temperature.low', value: 30 }];
    expect(problemIn(await post('change', { changes: upside, seen }), 422).detail).toContain('temperature');
    problemIn(await post('change', { changes: [{ path: 'http.host', value: '0.0.0.0' }], seen }), 400);
    expect(readFileSync(path, 'utf8')).toBe(text);
  });

  test('a file that cannot be written is said to be', async () => {
    // Root writes whatever it likes: a file that is a folder stops it as well.
    const seen = await seenNow();
    chmodSync(path, 0o440);
    const isRoot = process.getuid?.() === 0;
    if (!isRoot) {
      problemIn(await post('change', { changes: volume(300), seen }), 507);
      expect(readFileSync(path, 'utf8')).toBe(text);
    }
    chmodSync(path, 0o640);
    expect(() => writeOver(join(scratch.dir, 'no-such-file'), 'text')).toThrow(/ENOENT/);
  });
});
