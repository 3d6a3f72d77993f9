import { expect, test } from 'vitest';
import { brokerUsersOf } from '#hub/outside/access/broker-users.ts';
import { hashSecret, matchesHash } from '#hub/outside/access/secret-hash.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';

const cost = { ln: 10, r: 8, p: 1 };
const password = 'tide pool 17 and kelp';

async function boards() {
  const stored = await hashSecret(password, cost);
  const users = [{ name: 'board', role: 'probe', password_env: 'BOARD' }];
  const config = configOf(roomText('/nowhere', { broker: { users } }), { BOARD: stored });
  return brokerUsersOf(config, () => stored)[0]!;
}

test('forty boards that come back at once are turned away, or keep the keeper from signing in', async () => {
  const board = await boards();
  const stored = await hashSecret('passphrase of the page', cost);
  const logins = Array.from({ length: 40 }, () => board.isPassword(password));
  expect(await matchesHash('passphrase of the page', stored)).toBe(true);
  expect(await Promise.all(logins)).toEqual(logins.map(() => true));
});

test('a login that was right a moment ago opens with another password', async () => {
  const board = await boards();
  expect(await board.isPassword(password)).toBe(true);
  expect(await board.isPassword(password)).toBe(true);
  expect(await board.isPassword(`${password}.`)).toBe(false);
  expect(await board.isPassword('')).toBe(false);
});
