import { createHook } from 'node:async_hooks';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from 'vitest';
import { createAccess } from '#hub/outside/access/access.ts';
import { writeAccessFile } from '#hub/outside/access/access-file.ts';
import { brokerUsersOf } from '#hub/outside/access/broker-users.ts';
import { hashSecret } from '#hub/outside/access/secret-hash.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';

/** Derivations of a key that node has begun: it is this work that an answer takes its time for. */
let derivations = 0;
const counter = createHook({
  init(_id, type) {
    if (type === 'SCRYPTREQUEST') derivations += 1;
  },
});
beforeAll(() => void counter.enable());
afterAll(() => void counter.disable());

/** A cheap one, since here it is counted and not timed. */
const cost = { ln: 4, r: 8, p: 1 };
const log = { error: () => {}, warn: () => {}, info: () => {} };

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-work-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

async function workOf(work: () => Promise<unknown>): Promise<number> {
  const before = derivations;
  await work();
  return derivations - before;
}

test('the time of an answer tells whether there is a passphrase, or that it was nearly right', async () => {
  const config = configOf(roomText(dir));
  const withNone = createAccess({ config, nowMs: () => 0, log, cost });
  const file = join(dir, 'other.json');
  writeAccessFile(file, {
    passphrase: { hash: await hashSecret('four words of sand', cost), set: '2026-11-25T00:00:00Z' },
    tokens: [],
  });
  const withOne = createAccess({
    ...{ nowMs: () => 0, log, cost },
    config: { ...config, access: { ...config.access, file } },
  });
  try {
    // The first try waits for a hash that is made at the start.
    await withNone.signIn('first', '');
    await withOne.signIn('first', '');
    for (const tried of ['', 'x', 'four words of sane', 'x'.repeat(1024)]) {
      expect([tried, await workOf(() => withNone.signIn(tried, ''))]).toEqual([tried, 1]);
      expect([tried, await workOf(() => withOne.signIn(tried, ''))]).toEqual([tried, 1]);
    }
    let opened: string | undefined;
    expect(await workOf(async () => (opened = await withOne.signIn('four words of sand', '')))).toBe(1);
    expect(opened).toBeDefined();
  } finally {
    withNone.stop();
    withOne.stop();
  }
});

test('the time of an answer tells which users of the broker have a hashed password, or none', async () => {
  const config = configOf(
    roomText(dir, {
      broker: {
        users: [
          { name: 'plain', role: 'probe', password_env: 'PLAIN' },
          { name: 'hashed', role: 'phone', password_env: 'HASHED' },
          { name: 'empty', role: 'phone', password_env: 'EMPTY' },
        ],
      },
    }),
    { PLAIN: 'tide pool 17', HASHED: 'x', EMPTY: 'x' },
  );
  const passwords: Record<string, string> = {
    PLAIN: 'tide pool 17',
    HASHED: await hashSecret('sea fan 23', cost),
    EMPTY: '',
  };
  const users = brokerUsersOf(config, (name = '') => passwords[name]);
  for (const user of users) {
    for (const given of ['', 'wrong', 'tide pool 17', 'sea fan 23']) {
      let isRight: boolean | undefined;
      expect([user.name, given, await workOf(async () => (isRight = await user.isPassword(given)))]).toEqual([
        ...[user.name, given],
        1,
      ]);
      const wanted = { plain: 'tide pool 17', hashed: 'sea fan 23' }[user.name];
      expect([user.name, given, isRight]).toEqual([user.name, given, given === wanted]);
    }
  }
});
