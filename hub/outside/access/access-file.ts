import { createHash, randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as z from 'zod';
import { type Scope, scopes } from '../../model/access/scope.ts';
import type { Config } from '../../model/config/schema.ts';
import { writePrivateFile } from './private-file.ts';
import { isHash } from './secret-hash.ts';

const tokenSchema = z.strictObject({
  name: z.string().min(1).max(60),
  scope: z.enum(scopes),
  /** SHA-256 of the token: 256 random bits need no slow hash. */
  hash: z.string().length(64),
  made: z.iso.datetime(),
});

const documentSchema = z.strictObject({
  passphrase: z.strictObject({ hash: z.string().refine(isHash, 'a scrypt hash'), set: z.iso.datetime() }).optional(),
  tokens: z.array(tokenSchema).max(100).default([]),
});

export type AccessDocument = z.infer<typeof documentSchema>;

const mostTokens = 100;
const tokenStart = 'brine_';

export class AccessFileBroken extends Error {
  override readonly name = 'AccessFileBroken';
}

/** Where the hashes are kept: never in the YAML, which is copied and shown. */
export function accessFileOf(config: Pick<Config, 'access' | 'data_dir'>): string {
  return config.access.file ?? join(config.data_dir, 'access.json');
}

/**
 * The hashes; no passphrase and no token when there is no file.
 *
 * @throws AccessFileBroken  for a file that cannot be read or is not ours: taking that for "no passphrase" would open the
 *   door
 */
export function readAccessFile(path: string): AccessDocument {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR') return { tokens: [] };
    throw new AccessFileBroken(`${path} cannot be read (${code ?? message}). The hub must own it, mode 600.`);
  }
  const parsed = documentSchema.safeParse(jsonOf(text));
  if (parsed.success) return parsed.data;
  throw new AccessFileBroken(`${path} is damaged. Restore it, or move it away and set a passphrase again.`);
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

export function writeAccessFile(path: string, document: AccessDocument): void {
  writePrivateFile(path, `${JSON.stringify(document, undefined, 2)}\n`);
}

export function hashOfToken(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}

export type TokenMade = { ok: true; token: string; document: AccessDocument } | { ok: false; why: string };

/** A further token. It is in the result and nowhere else: the document holds its hash. */
export function withToken(document: AccessDocument, name: string, scope: Scope, nowMs: number): TokenMade {
  if (name.length < 1 || name.length > 60) return { ok: false, why: 'a name has 1 to 60 characters' };
  if (document.tokens.some((each) => each.name === name))
    return { ok: false, why: `there is a token "${name}" already` };
  if (document.tokens.length >= mostTokens) return { ok: false, why: `there are ${mostTokens} tokens; revoke one` };
  const token = `${tokenStart}${randomBytes(32).toString('base64url')}`;
  const kept = { name, scope, hash: hashOfToken(token), made: new Date(nowMs).toISOString() };
  return { ok: true, token, document: { ...document, tokens: [...document.tokens, kept] } };
}
