import { existsSync, readdirSync, readlinkSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { freePort } from '../servers/free-port.ts';
import { waitUntil } from '../servers/server-process.ts';
import { type ScratchMachine, scratchMachine, standInHub } from './scratch-machine.ts';

// Many processes one after the other: slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 180_000, hookTimeout: 180_000 });

/** deploy/update.sh as it is, with real processes, a real store and real HTTP; only systemd and the hub have stand-ins. */

let machine: ScratchMachine;
let old: string;
let port: number;

const answering = async () => {
  const response = await fetch(`http://127.0.0.1:${port}/health`).catch(() => undefined);
  return response?.status === 200 ? ((await response.json()) as { release: string }).release : undefined;
};
const current = () => readlinkSync(join(machine.root, 'opt/brinekeep/current'));

function inStore<T>(ask: (db: Database.Database) => T): T {
  const db = new Database(machine.store, { readonly: true });
  try {
    return ask(db);
  } finally {
    db.close();
  }
}
const writers = () => inStore((db) => db.prepare('SELECT by FROM written').pluck().all());
const schema = () => inStore((db) => db.pragma('user_version', { simple: true }));

beforeEach(async () => {
  port = await freePort();
  machine = scratchMachine(port);
  old = machine.addRelease('1.0.0-old', standInHub('old', 1, 'none'));
  machine.use(old);
  machine.service('start');
  await waitUntil('the old release answers', async () => (await answering()) === 'old');
});

afterEach(() => machine.remove());

/** Patience of a minute is the installed value; the stand-ins need less. */
const update = (release: string) =>
  machine.run('update.sh', ['--release', release], { BRINEKEEP_PATIENCE_SECONDS: '2' });

test('a good release does not stay, or nobody can go back from it', async () => {
  const { code, out } = update(machine.addRelease('1.1.0-good', standInHub('good', 2, 'none')));
  expect(out).toMatch(/UPDATED: 1\.1\.0-good runs/);
  expect(code).toBe(0);
  expect(await answering()).toBe('good');
  expect(current()).toBe('releases/1.1.0-good');
  expect(existsSync(old)).toBe(true);
  expect(
    readdirSync(join(machine.root, 'var/lib/brinekeep/backups')).filter((name) => name.endsWith('.db')),
  ).toHaveLength(1);
});

test.each(['ends', 'falls'] as const)('a release that %s leaves the tank without a watch', async (fault) => {
  const { code, out } = update(machine.addRelease('1.1.0-bad', standInHub('bad', 1, fault)));
  expect(code).toBe(1);
  expect(out.trim().split('\n').at(-1)).toMatch(/NOT UPDATED: 1\.1\.0-bad was not well; 1\.0\.0-old runs again/);
  expect(await answering()).toBe('old');
  expect(current()).toBe('releases/1.0.0-old');
  // Same schema: what the new release recorded meanwhile is kept.
  expect(writers()).toContain('bad');
  expect(out).not.toContain('restored');
});

test('a store that only the failed release can open keeps the old one from starting', async () => {
  const { code, out } = update(machine.addRelease('1.1.0-bad', standInHub('bad', 2, 'sick')));
  expect(code).toBe(1);
  expect(out).toMatch(/changed the store's schema/);
  expect(await answering()).toBe('old');
  expect(schema()).toBe(1);
  expect(writers()).not.toContain('bad');
  // Nothing is thrown away.
  expect(existsSync(`${machine.store}.replaced`)).toBe(true);
});

test('a configuration that the new release refuses stops the watch', async () => {
  const before = await (await fetch(`http://127.0.0.1:${port}/health`)).text();
  const { code, out } = update(machine.addRelease('1.1.0-strict', standInHub('strict', 1, 'refuses')));
  expect(code).toBe(1);
  expect(out).toContain('Nothing was changed');
  // The very same process answers.
  expect(await (await fetch(`http://127.0.0.1:${port}/health`)).text()).toBe(before);
});

test('a folder that is no release is made the running one', async () => {
  expect(update(machine.root).code).toBe(1);
  expect(current()).toBe('releases/1.0.0-old');
  expect(await answering()).toBe('old');
});
