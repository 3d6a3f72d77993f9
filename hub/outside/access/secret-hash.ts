import { randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * Cost of the key derivation: N = 2^ln, block size r, p passes. Memory is 128 · N · r bytes, one pass after another.
 *
 * @source RFC 7914, The scrypt password-based key derivation function
 */
export type ScryptCost = { ln: number; r: number; p: number };

/**
 * 32 MiB, which a small board can spare, and three passes: OWASP's password storage advice names it as equal to
 * N = 2^17, p = 1 (128 MiB). From memory. Half a second on a two-core machine.
 */
export const usualCost: ScryptCost = { ln: 15, r: 8, p: 3 };

const saltBytes = 16;
const keyBytes = 32;
/** A file that somebody edited must not make the hub take all of the memory. */
const mostLn = 20;
const pattern = /^\$scrypt\$ln=(\d{1,2}),r=(\d{1,2}),p=(\d{1,2})\$([A-Za-z0-9+/]{22,86})\$([A-Za-z0-9+/]{43})$/;

/**
 * One derivation at a time in each: several at once are memory that a small board does not have. The page and the broker have one
 * each, so that neither keeps the other from letting somebody in.
 */
export type DerivationQueue = { last: Promise<unknown>; waiting: number; most: number };

/** @param most  beyond this a further one is refused at once, so that a crowd of strangers cannot make the queue grow */
export function derivationQueue(most: number): DerivationQueue {
  return { last: Promise.resolve(), waiting: 0, most };
}

const ofThePage = derivationQueue(16);

export class TooManyDerivations extends Error {
  override readonly name = 'TooManyDerivations';
}

/** A stored hash: `$scrypt$ln=15,r=8,p=3$SALT$KEY`, salt and key in base64 without padding. */
export async function hashSecret(secret: string, cost: ScryptCost = usualCost): Promise<string> {
  const salt = randomBytes(saltBytes);
  const key = await derive(secret, salt, cost, ofThePage);
  return written(cost, salt, key);
}

function written({ ln, r, p }: ScryptCost, salt: Buffer, key: Buffer): string {
  return `$scrypt$ln=${ln},r=${r},p=${p}$${bare(salt)}$${bare(key)}`;
}

/** What no secret is known for, and takes as long to compare: nothing is derived for it. */
export function hashOfNothing(cost: ScryptCost = usualCost): string {
  return written(cost, randomBytes(saltBytes), randomBytes(keyBytes));
}

export function isHash(text: string): boolean {
  const cost = pattern.exec(text);
  return cost !== null && Number(cost[1]) >= 1 && Number(cost[1]) <= mostLn && Number(cost[2]) > 0;
}

/**
 * Whether the secret is the one that was hashed, in constant time after the derivation.
 *
 * @throws TooManyDerivations
 */
export async function matchesHash(secret: string, stored: string, queue = ofThePage): Promise<boolean> {
  const parts = pattern.exec(stored);
  if (parts === null || !isHash(stored)) return false;
  const cost = { ln: Number(parts[1]), r: Number(parts[2]), p: Number(parts[3]) };
  const key = await derive(secret, Buffer.from(parts[4]!, 'base64'), cost, queue);
  return timingSafeEqual(key, Buffer.from(parts[5]!, 'base64'));
}

async function derive(secret: string, salt: Buffer, cost: ScryptCost, queue: DerivationQueue): Promise<Buffer> {
  if (queue.waiting >= queue.most) throw new TooManyDerivations('too many sign-ins at once');
  queue.waiting += 1;
  const mine = queue.last.then(() => scryptOf(secret, salt, cost));
  queue.last = mine.catch(() => {});
  try {
    return await mine;
  } finally {
    queue.waiting -= 1;
  }
}

function scryptOf(secret: string, salt: Buffer, { ln, r, p }: ScryptCost): Promise<Buffer> {
  const N = 2 ** ln;
  const options: ScryptOptions = { N, r, p, maxmem: 128 * r * (N + p + 2) };
  return new Promise((resolve, reject) =>
    // The same letters typed on another keyboard are the same passphrase: NIST SP 800-63B asks for NFKC or NFKD.
    scrypt(secret.normalize('NFKC'), salt, keyBytes, options, (error, key) => (error ? reject(error) : resolve(key))),
  );
}

function bare(bytes: Buffer): string {
  return bytes.toString('base64').replaceAll('=', '');
}
