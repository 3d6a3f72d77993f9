import { spawn } from 'node:child_process';
import { chmodSync, chownSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setInterval } from 'node:timers';
import { setImmediate } from 'node:timers/promises';
import mqtt from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { parse } from 'yaml';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { hubCommand } from '../../servers/hub-command.ts';
import { configOf, type Ended, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { type Mosquitto, mosquittoPub, startMosquitto } from '../../servers/mosquitto.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Probe = { id: string; system: string; metric: string; unit?: string; mqtt?: { topic: string; channel?: string } };

const two = ['display', 'frags'].map((id) => ({
  ...{ id, name: `Tank ${id}`, volume_l: 400 },
  bands: { temperature: { low: 25, high: 26.5 } },
}));
const remark = '# Mine: the heater is on the left.';
const quick = ['--port', '/dev/null', '--seconds-per-speed', '0.1', '--broker-seconds', '3'];

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub'))('a probe at a broker, added later', () => {
  const { dir, remove } = scratchRoom();
  const at = (name: string) => join(dir, name);
  const write = (name: string, blocks: object) => {
    writeFileSync(at(name), `${remark}\n${roomText(dir, { systems: two, ...blocks })}`);
    return at(name);
  };
  const probesOf = (path: string) => (parse(readFileSync(path, 'utf8')) as { probes?: Probe[] }).probes ?? [];
  const topics = (path: string) =>
    probesOf(path)
      .map((each) => `${each.system} ${each.metric} ${each.mqtt?.topic}`)
      .sort();
  const add = (path: string, ...more: string[]) =>
    verbHere(['setup', path, '--add', '--unattended', ...quick, ...more]);
  let mosquitto: Mosquitto;

  beforeAll(async () => {
    mosquitto = await startMosquitto();
    for (const [topic, payload] of [
      ['room/display/temperature', '25.3'],
      ['room/display/ph', '8.12'],
      ['room/frags/temperature', '25.9'],
      ['reef/heartbeat/temperature', '25.0'],
    ] as const)
      await mosquittoPub(mosquitto.port, topic, payload, { retain: true });
  });
  afterAll(async () => {
    await mosquitto?.stop();
    remove();
  });

  const outside = () => ({
    mqtt: { url: `mqtt://127.0.0.1:${mosquitto.port}`, prefix: 'reef' },
    probes: [
      { id: 'display-t', system: 'display', metric: 'temperature', mqtt: { topic: 'room/display/temperature' } },
    ],
  });

  test("the probes of the other tank or the hub's own words come in, or the remarks go", async () => {
    const path = write('outside.yaml', outside());
    const before = readFileSync(path, 'utf8');
    const none = await add(path, '--system', 'display');
    expect({ code: none.code, err: none.err }).toEqual({ code: 0, err: '' });
    // Nobody said whose they are.
    expect(none.out).toContain('If it belongs to this tank: --topics room/frags');
    expect(none.out).not.toContain('reef/heartbeat');
    expect(readFileSync(path, 'utf8')).toBe(before);

    const added = await add(path, '--system', 'display', '--topics', 'room/display');
    expect({ code: added.code, err: added.err }).toEqual({ code: 0, err: '' });
    expect(added.out).toContain('1 probe added');
    expect(added.out.trimEnd().split('\n').slice(-2)).toEqual([`  brinekeep check ${path}`, `  brinekeep run ${path}`]);
    expect(topics(path)).toEqual(['display ph room/display/ph', 'display temperature room/display/temperature']);
    expect(readFileSync(path, 'utf8').startsWith(`${remark}\n`)).toBe(true);
    await add(path, '--system', 'frags', '--topics', 'room/frags');
    expect(topics(path)).toContain('frags temperature room/frags/temperature');
    expect(new Set(probesOf(path).map(({ id }) => id)).size).toBe(3);
    expect(await verbHere(['check', path])).toMatchObject({ code: 0 });
    const whole = readFileSync(path, 'utf8');
    expect((await add(path, '--system', 'frags', '--topics', 'room')).out).toContain('no probe was added');
    expect(readFileSync(path, 'utf8')).toBe(whole);
  });

  test('a person is asked about what is in the file already, or is not asked which tank it is of', async () => {
    const path = write('asked.yaml', outside());
    const { code, out } = await verbHere(['setup', path, '--add', ...quick], 'sump\nfrags\nno\nyes\nyes\n');
    expect(code).toBe(0);
    expect(out).toContain('Which system: display, frags');
    expect(out).toContain('Does room/display belong to Tank frags? It sends pH');
    expect(topics(path)).toEqual([
      'display temperature room/display/temperature',
      'frags temperature room/frags/temperature',
    ]);
  });

  test('what the page has changed in the file meanwhile is undone', async () => {
    const path = write('meanwhile.yaml', outside());
    const adding = add(path, '--system', 'display', '--topics', 'room/display');
    await setImmediate();
    const changed = `${readFileSync(path, 'utf8')}\n# The heater is on the right now.\n`;
    writeFileSync(path, changed);
    const { code, err } = await adding;
    expect({ code, err }).toEqual({ code: 1, err: expect.stringContaining(`${path}: it was changed in the meantime`) });
    expect(readFileSync(path, 'utf8')).toBe(changed);
  });

  test('the password of a broker that asks for one is not used', async () => {
    const passwords = at('passwords');
    const hash = (await import('node:crypto')).pbkdf2Sync('sea', 'salt-of-12-b', 101, 64, 'sha512').toString('base64');
    writeFileSync(passwords, `keeper:$7$101$${Buffer.from('salt-of-12-b').toString('base64')}$${hash}\n`, {
      mode: 0o600,
    });
    const closed = await startMosquitto({
      listener: (port) => `listener ${port} 127.0.0.1\nallow_anonymous false\npassword_file ${passwords}`,
    });
    const login = { username: 'keeper', password: 'sea' };
    const board = await mqtt.connectAsync(`mqtt://127.0.0.1:${closed.port}`, login);
    await board.publishAsync('room/display/ph', '8.1', { retain: true, qos: 1 });
    await board.endAsync();
    process.env['SEA_OF_THE_TEST'] = 'sea';
    const url = `mqtt://127.0.0.1:${closed.port}`;
    writeFileSync(at('sea'), 'sea\n');
    try {
      for (const place of [{ password_env: 'SEA_OF_THE_TEST' }, { password_file: at('sea') }]) {
        const path = write('closed.yaml', { mqtt: { url, username: 'keeper', ...place } });
        const added = await add(path, '--system', 'display', '--topics', 'room/display');
        expect({ place, code: added.code, topics: topics(path) }).toEqual({
          place,
          code: 0,
          topics: ['display ph room/display/ph'],
        });
      }
    } finally {
      delete process.env['SEA_OF_THE_TEST'];
      await closed.stop();
    }
  });

  test("at the hub's own broker a board that sends is not heard, or with the hub stopped nobody says why", async () => {
    const port = await freePort();
    const path = write('inside.yaml', { broker: { port }, mqtt: { prefix: 'reef' }, http: { port: await freePort() } });
    const stopped = await add(path, '--system', 'display', '--topics', 'room/display');
    expect(stopped.out).toContain("The hub's own broker is not running.");
    expect(stopped.out).toContain(`start the hub, then run again: brinekeep setup ${path} --add`);
    let hub: Hub | undefined;
    const board = setInterval(() => void mosquittoPub(port, 'room/display/ph', '8.12').catch(() => undefined), 300);
    try {
      hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
      const added = await add(path, '--system', 'display', '--topics', 'room/display', 'reef');
      expect({ code: added.code, err: added.err }).toEqual({ code: 0, err: '' });
      expect(topics(path)).toEqual(['display ph room/display/ph']);
    } finally {
      clearInterval(board);
      await hub?.stop();
    }
  });

  /** As on an installed machine: the folder of the configuration is root's, and the hub's user alone may change the file. */
  describe.skipIf(process.getuid?.() !== 0)('on an installed machine', () => {
    const [hubUser, keeper] = [54_321, 54_322];
    const asUser = (uid: number, ...args: string[]): Promise<Ended> =>
      new Promise((resolve, reject) => {
        const env = { PATH: process.env['PATH'] ?? '', HOME: dir };
        const child = spawn(process.execPath, [...hubCommand(), ...args], { uid, gid: uid, env, cwd: '/' });
        const ended = { code: null as number | null, stdout: '', stderr: '' };
        child.stdout.on('data', (chunk: Buffer) => (ended.stdout += chunk.toString('utf8')));
        child.stderr.on('data', (chunk: Buffer) => (ended.stderr += chunk.toString('utf8')));
        child.once('error', reject);
        child.once('close', (code) => resolve({ ...ended, code }));
      });
    const etc = at('etc');
    const path = join(etc, 'brinekeep.yaml');
    const flags = ['--add', '--unattended', '--system', 'display', '--topics', 'room/display', ...quick];

    beforeAll(() => {
      mkdirSync(etc);
      const data = at('hub-data');
      mkdirSync(data);
      chownSync(data, hubUser, hubUser);
      chmodSync(data, 0o700);
      chmodSync(dir, 0o755);
      writeFileSync(path, `${remark}\n${roomText(dir, { systems: two, ...outside(), data_dir: data })}`);
      chownSync(path, 0, hubUser);
      chmodSync(path, 0o660);
      chownSync(etc, 0, hubUser);
      chmodSync(etc, 0o750);
    });

    test('a keeper without sudo gets a stack, or is not told what to type', async () => {
      const ended = await asUser(keeper, 'setup', path, ...flags);
      expect({ code: ended.code, out: ended.stdout, err: ended.stderr }).toEqual({
        ...{ code: 2, out: '' },
        err: `${path}: the user ${keeper} may not read it. Put sudo before the command, or name another file.\n`,
      });
    });

    test("the hub's user, as whom sudo brinekeep runs, cannot add, or the file has another owner or mode afterwards", async () => {
      const ended = await asUser(hubUser, 'setup', path, ...flags);
      expect({ code: ended.code, err: ended.stderr }).toEqual({ code: 0, err: '' });
      expect(topics(path)).toContain('display ph room/display/ph');
      const { uid, gid, mode } = statSync(path);
      expect({ uid, gid, mode: (mode & 0o777).toString(8) }).toEqual({ uid: 0, gid: hubUser, mode: '660' });
      expect(statSync(at('hub-data/before-setup.yaml')).uid).toBe(hubUser);
    });

    test('a file that may not be written is found out after the listening and the questions, or in words of the system', async () => {
      chmodSync(path, 0o640);
      const before = readFileSync(path, 'utf8');
      const ended = await asUser(hubUser, 'setup', path, ...flags);
      expect({ code: ended.code, out: ended.stdout }).toEqual({ code: 1, out: '' });
      expect(ended.stderr).toContain(`the user ${hubUser} may not write it. Put sudo before the command`);
      expect(ended.stderr).toContain(`sudo chown root:brinekeep ${path} && sudo chmod 660 ${path}`);
      expect(readFileSync(path, 'utf8')).toBe(before);
    });
  });
});
