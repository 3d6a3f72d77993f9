import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createServiceManager } from '#adapters/systemd/service-manager.ts';
import { isMissing } from '../../machine/parts.mjs';
import { type ServerProcess, startProcess, waitUntil } from '../../servers/server-process.ts';

const pid = 4711;
const hasNoTool = spawnSync('systemd-notify', ['--version']).error !== undefined;

describe.skipIf(isMissing('socat') || hasNoTool)('words to the service manager', () => {
  let dir: string;
  let path: string;
  let listener: ServerProcess;

  beforeEach(async () => {
    dir = mkdtempSync(join(tmpdir(), 'brinekeep-notify-'));
    path = join(dir, 'notify.sock');
    listener = startProcess('socat', ['-u', `UNIX-RECV:${path}`, 'STDOUT']);
    await waitUntil('the socket is there', () => existsSync(path), { explain: listener.log });
  });

  afterEach(async () => {
    await listener.end('SIGTERM');
    rmSync(dir, { recursive: true, force: true });
  });

  const env = (more: Record<string, string> = {}) => ({ PATH: process.env['PATH'], NOTIFY_SOCKET: path, ...more });

  test('the manager waits in vain for the start, the signs of life or the end', async () => {
    const manager = createServiceManager(env({ WATCHDOG_USEC: '30000000', WATCHDOG_PID: String(pid) }), pid);
    expect(manager.watchdogMs).toBe(30_000);
    manager.ready();
    await waitUntil('READY', () => listener.log().includes('READY=1'));
    manager.alive();
    await waitUntil('WATCHDOG', () => listener.log().includes('WATCHDOG=1'));
    manager.stopping();
    await waitUntil('STOPPING', () => listener.log().includes('STOPPING=1'));
  });

  test('a patience that is meant for another process, or none, starts a child every second', () => {
    expect(createServiceManager(env({ WATCHDOG_USEC: '30000000', WATCHDOG_PID: '1' }), pid).watchdogMs).toBeUndefined();
    expect(createServiceManager(env(), pid).watchdogMs).toBeUndefined();
    expect(createServiceManager(env({ WATCHDOG_USEC: 'soon' }), pid).watchdogMs).toBeUndefined();
    expect(createServiceManager({ WATCHDOG_USEC: '30000000' }, pid).watchdogMs).toBeUndefined();
  });

  test('a machine without the tool ends the hub', async () => {
    const told: string[] = [];
    const manager = createServiceManager({ NOTIFY_SOCKET: path, PATH: dir }, pid, (why) => told.push(why));
    manager.ready();
    manager.alive();
    await waitUntil('the failure is told', () => told.length > 0);
    expect(told).toHaveLength(1);
    expect(told[0]).toContain('ENOENT');
  });

  test('a socket that nobody reads is not noticed', async () => {
    await listener.end('SIGKILL');
    const told: string[] = [];
    createServiceManager(env(), pid, (why) => told.push(why)).ready();
    await waitUntil('the failure is told', () => told.length > 0);
  });
});
