import { spawnSync } from 'node:child_process';
import { chmodSync, chownSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { dirname, join } from 'node:path';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { isMissing } from '../../machine/parts.mjs';
import { freePort } from '../../servers/free-port.ts';
import { hubCommand } from '../../servers/hub-command.ts';
import { getJson, roomText, runVerb, scratchRoom, startHubProcess } from '../../servers/hub-process.ts';
import { startMosquitto } from '../../servers/mosquitto.ts';
import { patience, startProcess, waitUntil } from '../../servers/server-process.ts';
import { startPtyPair } from '../../servers/socat.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience() });

type Linked = { edges: { name: string; up: boolean; error: string | null }[] };

function room(): string {
  const { dir, remove } = scratchRoom();
  onTestFinished(remove);
  return dir;
}

/** `brinekeep run` on this configuration, to its end. */
async function failedRun(dir: string, text: string) {
  const path = join(dir, 'other.yaml');
  writeFileSync(path, text);
  const ended = await runVerb(['run', path, '--log-level', 'error']);
  expect(ended.stderr).not.toMatch(/\n\s+at /);
  expect(ended.code).toBe(1);
  return ended.stderr;
}

test('a page whose port is taken ends in a stack trace', async () => {
  const dir = room();
  const port = await freePort();
  const other = createServer();
  await new Promise<void>((resolve) => other.listen(port, '127.0.0.1', resolve));
  onTestFinished(() => void other.close());
  const said = await failedRun(dir, roomText(dir, { http: { port } }));
  expect(said).toMatch(new RegExp(`cannot open port ${port} on 127\\.0\\.0\\.1: another program has it.*http\\.port`));
  // The store was closed properly: the next start finds nothing to complain of.
  const hub = await startHubProcess(dir, roomText(dir));
  onTestFinished(() => hub.end('SIGKILL'));
  expect((await getJson<{ unclean_stop: string | null }>(`${hub.url}/health`)).unclean_stop).toBeNull();
});

test('a second hub on one store ends in a stack trace, or writes beside the first', async () => {
  const dir = room();
  const hub = await startHubProcess(dir, roomText(dir));
  onTestFinished(() => hub.end('SIGKILL'));
  expect(await failedRun(dir, roomText(dir))).toMatch(/is in use by another hub or program\. Stop that one/);
});

describe.skipIf(isMissing('mosquitto'))('a broker whose port is taken', () => {
  test('the hub joins the foreign broker that has its port', async () => {
    const dir = room();
    const foreign = await startMosquitto();
    onTestFinished(foreign.stop);
    const hub = await startHubProcess(dir, roomText(dir, { broker: { port: foreign.port } }));
    onTestFinished(() => hub.end('SIGKILL'));
    const edges = async () => (await getJson<Linked>(`${hub.url}/health`)).edges;
    await waitUntil('the link is up', async () => (await edges()).some(({ name, up }) => name === 'mqtt' && up));
    const broker = (await edges()).find(({ name }) => name === 'broker');
    expect([broker?.up, broker?.error]).toEqual([
      false,
      expect.stringMatching(/is taken by another program.*broker\.port/),
    ]);
    expect(foreign.log()).not.toContain('New client connected');
  });
});

const asNobody = ['--reuid=65534', '--regid=65534', '--clear-groups'];

/** True where another user may not even read the program, as in a checkout below a home that is closed to others. */
function isClosedToOthers(): boolean {
  const isRead = (path: string) => spawnSync('setpriv', [...asNobody, 'test', '-r', path]).status === 0;
  if ([process.execPath, ...hubCommand().filter((each) => each.startsWith('/'))].every(isRead)) return false;
  process.stderr.write(
    '\nSKIPPED: other users may not read this folder; the test of a hub that is not root is left out.\n',
  );
  return true;
}

const isRoot = process.getuid?.() === 0;

describe.skipIf(isMissing('socat') || !isRoot || isClosedToOthers())('a serial port that may not be opened', () => {
  test('nobody is told which group is missing', async () => {
    const dir = room();
    const { a: line, stop } = await startPtyPair();
    onTestFinished(stop);
    // As Debian gives serial ports: root:dialout 660.
    const gid = Number(spawnSync('getent', ['group', 'dialout']).stdout.toString().split(':')[2]);
    const device = spawnSync('readlink', ['-f', line]).stdout.toString().trim();
    chownSync(device, 0, gid);
    chmodSync(device, 0o660);
    const path = join(dir, 'room.yaml');
    writeFileSync(path, roomText(dir, { serial: [{ id: 'board', path: line, format: 'key_value' }] }));
    chmodSync(dirname(line), 0o755);
    for (const each of [dir, join(dir, 'data')]) chownSync(each, 65_534, 65_534);
    const hub = startProcess('setpriv', [...asNobody, process.execPath, ...hubCommand(), 'run', path]);
    onTestFinished(() => hub.end('SIGKILL'));
    await waitUntil('the hub says why', () => hub.log().includes('permission denied'), { explain: hub.log });
    expect(hub.log()).toMatch(
      /permission denied: the hub's user is not in the group \\?"dialout\\?" .*usermod -aG dialout/,
    );
  });
});
