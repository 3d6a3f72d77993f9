import { chmodSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test, vi } from 'vitest';
import { hashSecret } from '#hub/outside/access/secret-hash.ts';
import { roomText, runVerb, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

const fiveMistakes = `site: {name: Fish room, timezone: Europe/Lisboa}
systems:
  - id: display
    name: Display tank
    volume_l: lots
    bands:
      temperature: {low: 26.5, high: 25.0}
      salinty: {low: 34.0, high: 36.0}
probes:
  - {id: t, system: sump, metric: temperature, mqtt: {topic: tank/t}}
`;

const stackTrace = /^\s+at |node:internal|node_modules/m;

describe('check and wrong usage', () => {
  const { dir, remove } = scratchRoom();
  afterAll(remove);
  const file = (name: string, text: string) => {
    const path = join(dir, name);
    writeFileSync(path, text);
    return path;
  };

  test('a keeper is told of one mistake at a time, without its line, or with a stack trace', {
    timeout: 60_000 * patience(),
  }, async () => {
    const path = file('five.yaml', fiveMistakes);
    // In its own process: this is what a person sees, and the code that a script sees.
    const { code, stdout, stderr } = await runVerb(['check', path]);
    expect(code).toBe(1);
    expect(stdout).toBe('');
    expect(stderr).not.toMatch(stackTrace);
    for (const [line, word] of [
      [1, 'Lisboa'],
      [5, 'volume_l'],
      [7, 'temperature'],
      [8, 'salinity'],
      [10, 'sump'],
    ]) {
      const told = stderr.split('\n').filter((each) => each.startsWith(`${path}:${line} `));
      expect(told.join('\n'), stderr).toContain(word);
    }
    expect(stderr).toContain('5 mistakes');
  });

  test('a good configuration is refused', async () => {
    const path = file('good.yaml', roomText(dir));
    const { code, out } = await verbHere(['check', path]);
    expect(code).toBe(0);
    expect(out).toContain('good (1 system, 0 probes)');
  });

  test('weak passwords of the broker and secrets open to all pass without a word', async () => {
    const good = 'anemone violin gravel teapot';
    const passwordFile = (name: string, text: string, mode: number) => {
      const path = file(name, `${text}\n`);
      chmodSync(path, mode);
      return path;
    };
    const hash = await hashSecret('reef1', { ln: 4, r: 8, p: 1 });
    vi.stubEnv('PHONE_PASSWORD', 'wave7');
    const user = (name: string, place: object) => ({ name, role: 'probe', ...place });
    const users = [
      user('short', { password_file: passwordFile('short', 'coral1', 0o600) }),
      user('open', { password_file: passwordFile('open', good, 0o644) }),
      user('writable', { password_file: passwordFile('writable', good, 0o662) }),
      user('ours', { password_file: passwordFile('ours', good, 0o640) }),
      user('hashed', { password_file: passwordFile('hashed', hash, 0o600) }),
      user('phone', { password_env: 'PHONE_PASSWORD' }),
    ];
    const config = file('users.yaml', roomText(dir, { broker: { port: 0, users } }));
    const { code, out, err } = await verbHere(['check', config]);
    vi.unstubAllEnvs();
    expect(code).toBe(0);
    expect(out).toContain('good');
    const told = err.trimEnd().split('\n');
    expect(told).toEqual([
      expect.stringMatching(/^warning: broker user short: .* 6 characters/),
      expect.stringMatching(/^warning: broker user phone: .* 5 characters/),
      expect.stringContaining(`${join(dir, 'open')}: every account of this machine may read this secret`),
      expect.stringContaining(`${join(dir, 'writable')}: every account of this machine may change this secret`),
    ]);
    expect(err).not.toMatch(/coral1|wave7|anemone/);
  });

  test.each([
    ['a verb that is none', ['chekc']],
    ['no verb', []],
    ['a flag that is none', ['check', '--quietly', 'x.yaml']],
    ['a missing argument', ['check']],
    ['a file that is not there', ['check', '/nowhere/room.yaml']],
    ['a choice that is none', ['calc', 'titration', '--salinity', '35', '--temperature', '25', '--cell', 'ajar']],
  ])('%s looks like success to a script', async (_what, args) => {
    const { code, err } = await verbHere(args);
    expect(code).toBe(2);
    expect(err).toMatch(/\S/);
    expect(err).not.toMatch(stackTrace);
  });

  test('asking for help counts as a mistake', async () => {
    for (const args of [['--help'], ['calc', '--help'], ['replay', '--help'], ['--version']]) {
      const { code, out } = await verbHere(args);
      expect({ args, code }).toEqual({ args, code: 0 });
      expect(out).toMatch(/\S/);
    }
  });

  test('something that is no YAML, or is empty, ends with a stack trace', async () => {
    for (const text of ['', '{', '- - :', '\u0000\u0001', 'site: &a [*a]', '[]', '42']) {
      const { code, err } = await verbHere(['check', file('odd.yaml', text)]);
      expect({ text, code }).toEqual({ text, code: 1 });
      expect(err).not.toMatch(stackTrace);
    }
    rmSync(join(dir, 'odd.yaml'));
  });
});
