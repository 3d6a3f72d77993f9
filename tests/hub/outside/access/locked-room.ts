import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Scope } from '#hub/model/access/scope.ts';
import { hashOfToken } from '#hub/outside/access/access-file.ts';
import { hashSecret } from '#hub/outside/access/secret-hash.ts';

/** Cheap, so that a test may sign in often; what the cost is stands in each hash. */
export const testCost = { ln: 10, r: 8, p: 1 };

export const passphrase = 'seven corals under a blue lamp';

/** Sets a passphrase and tokens for the hub whose data folder is `dir`/data, as the verbs would, only cheaper. */
export async function lockRoom(dir: string, tokens: { name: string; scope: Scope; token: string }[] = []) {
  const made = '2026-01-01T00:00:00.000Z';
  const document = {
    passphrase: { hash: await hashSecret(passphrase, testCost), set: made },
    tokens: tokens.map(({ name, scope, token }) => ({ name, scope, hash: hashOfToken(token), made })),
  };
  writeFileSync(join(dir, 'data', 'access.json'), JSON.stringify(document), { mode: 0o600 });
}
