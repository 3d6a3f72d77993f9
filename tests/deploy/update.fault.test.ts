import { existsSync, readdirSync, readFileSync, readlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, type ExpectStatic, type TestContext, test, vi } from 'vitest';
import { isMissing } from '../machine/parts.mjs';
import { freePort } from '../servers/free-port.ts';
import { patience, waitUntil } from '../servers/server-process.ts';
import { type StandInFault, scratchMachine, standInHub } from './scratch-machine.ts';

// Many processes one after the other: slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 180_000 * patience(), hookTimeout: 180_000 * patience() });

type Context = TestContext & { expect: ExpectStatic };

/** Seconds within which a bad release has at least begun, on a machine that does much else; it is never found well. */
const enough = 8;

/** A machine on which `1.0.0-old` runs, with the configuration that it knows or one for a later release. */
async function machineWithOld({ onTestFinished }: Context, needs = 1) {
  const port = await freePort();
  const machine = scratchMachine(port);
  onTestFinished(() => machine.remove());
  const { config, root, store } = machine;
  const old = machine.addRelease('1.0.0-old', standInHub('old', 1, 'none'));
  machine.use(old);
  machine.service('start');
  /** A socket of its own each time: the hub is another one from one question to the next. */
  const ask = async () => {
    const headers = { connection: 'close' };
    const response = await fetch(`http://127.0.0.1:${port}/health`, { headers }).catch(() => undefined);
    return response === undefined ? undefined : { status: response.status, text: await response.text() };
  };
  const answering = async () => {
    const { status = 0, text = '{}' } = (await ask()) ?? {};
    return { status, release: (JSON.parse(text) as { release?: string }).release };
  };
  await waitUntil('the old release answers', async () => (await answering()).status === 200);
  if (needs > 1) {
    machine.service('stop');
    writeFileSync(config, JSON.stringify({ ...JSON.parse(readFileSync(config, 'utf8')), needs }));
    machine.service('start');
    await waitUntil('the old release waits', async () => (await answering()).status === 503);
  }
  const inStore = <T>(question: (db: Database.Database) => T): T => {
    const db = new Database(store, { readonly: true });
    try {
      return question(db);
    } finally {
      db.close();
    }
  };
  return {
    ...{ machine, old, ask, answering },
    /** Patience of a minute is the installed value; a release that will never be well needs less. */
    update: (release: string, patienceSeconds = 60) =>
      machine.run('update.sh', ['--release', release], { BRINEKEEP_PATIENCE_SECONDS: `${patienceSeconds}` }),
    add: (id: string, schema: number, fault: StandInFault) =>
      machine.addRelease(`1.1.0-${id}`, standInHub(id, schema, fault)),
    current: () => readlinkSync(join(root, 'opt/brinekeep/current')),
    backups: () => readdirSync(join(root, 'var/lib/brinekeep/backups')).filter((name) => name.endsWith('.db')),
    writers: () => inStore((db) => db.prepare('SELECT by FROM written').pluck().all()),
    schema: () => inStore((db) => db.pragma('user_version', { simple: true })),
  };
}

const lastLine = (out: string) => out.trim().split('\n').at(-1);

/** deploy/update.sh as it is, with real processes, a real store and real HTTP; only systemd and the hub have stand-ins. */
describe.skipIf(isMissing('gnu')).concurrent('an update', () => {
  test('a good release does not stay, or nobody can go back from it', async (context) => {
    const { expect } = context;
    const { update, add, answering, current, backups, old } = await machineWithOld(context);
    const { code, out } = await update(add('good', 2, 'none'));
    expect(out).toMatch(/^UPDATED: 1\.1\.0-good runs/m);
    expect(code).toBe(0);
    expect(await answering()).toEqual({ status: 200, release: 'good' });
    expect(current()).toBe('releases/1.1.0-good');
    expect(existsSync(old)).toBe(true);
    expect(backups()).toHaveLength(1);
  });

  test.for(['ends', 'falls', 'waits'] as const)(
    'a release that %s leaves the tank without a watch',
    async (fault, context) => {
      const { expect } = context;
      const { update, add, answering, current, writers } = await machineWithOld(context);
      const { code, out } = await update(add('bad', 1, fault), enough);
      expect(lastLine(out)).toBe('NOT UPDATED: 1.1.0-bad was not well; 1.0.0-old runs again.');
      expect(code).toBe(1);
      expect(await answering()).toEqual({ status: 200, release: 'old' });
      expect(current()).toBe('releases/1.0.0-old');
      // Same schema: what the new release recorded meanwhile is kept.
      if (fault !== 'waits') expect(writers()).toContain('bad');
      expect(out).not.toContain('restored');
    },
  );

  test('a store that only the failed release can open keeps the old one from starting', async (context) => {
    const { expect } = context;
    const { update, add, answering, schema, writers, machine } = await machineWithOld(context);
    const { code, out } = await update(add('bad', 2, 'sick'), enough);
    expect(code).toBe(1);
    expect(out).toMatch(/changed the store's schema/);
    expect(await answering()).toEqual({ status: 200, release: 'old' });
    expect(schema()).toBe(1);
    expect(writers()).not.toContain('bad');
    // Nothing is thrown away.
    expect(existsSync(`${machine.store}.replaced`)).toBe(true);
  });

  test('a configuration that the new release refuses, or a folder that is none, stops the watch', async (context) => {
    const { expect } = context;
    const { update, add, ask, current, machine, backups } = await machineWithOld(context);
    const before = await ask();
    const { code, out } = await update(add('strict', 1, 'refuses'));
    expect(code).toBe(1);
    expect(lastLine(out)).toMatch(/1\.1\.0-strict does not accept .* Nothing was changed\.$/);
    const folder = await update(machine.root);
    expect(folder.code).toBe(1);
    expect(folder.out).toContain('Nothing was changed');
    expect(current()).toBe('releases/1.0.0-old');
    expect(backups()).toEqual([]);
    // The very same process answers.
    expect(await ask()).toEqual(before);
  });

  test('whoever wrote the configuration for the next release already cannot go forward to it', async (context) => {
    const { expect } = context;
    const { update, add, answering, backups } = await machineWithOld(context, 2);
    // Back from one that falls: the old release waits as it did before, and nobody is told that it watches.
    const back = await update(add('bad', 2, 'sick'), 1);
    expect(back.code).toBe(1);
    expect(lastLine(back.out)).toMatch(/^NOT UPDATED, AND NOBODY WATCHES: .* 1\.0\.0-old waits for .* to be corrected/);
    expect(await answering()).toEqual({ status: 503, release: 'old' });
    const { code, out } = await update(add('good', 2, 'none'));
    expect(lastLine(out)).toMatch(/^UPDATED: 1\.1\.0-good runs/);
    expect(code).toBe(0);
    expect(await answering()).toEqual({ status: 200, release: 'good' });
    expect(backups()).toHaveLength(2);
  });

  test('a configuration that is broken by its writer meanwhile counts as a fault of the release', async (context) => {
    const { expect } = context;
    const { update, add, answering, current } = await machineWithOld(context);
    const { code, out } = await update(add('spoilt', 1, 'spoils'));
    expect(lastLine(out)).toMatch(/^UPDATED, BUT NOBODY WATCHES: .* was changed meanwhile, and 1\.1\.0-spoilt waits/);
    expect(code).toBe(0);
    expect(await answering()).toEqual({ status: 503, release: 'spoilt' });
    expect(current()).toBe('releases/1.1.0-spoilt');
    // With that file no update is begun either, and both are named.
    const again = await update(add('other', 1, 'none'));
    expect(again.code).toBe(1);
    expect(lastLine(again.out)).toMatch(/^Neither 1\.1\.0-other nor 1\.1\.0-spoilt accepts .* Nothing was changed\.$/);
  });
});
