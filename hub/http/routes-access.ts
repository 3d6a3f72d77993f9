import { isIPv6 } from 'node:net';
import fastifyRateLimit from '@fastify/rate-limit';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { accessApi } from '../api/access.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { Access } from '../outside/access/access.ts';
import { TooManyDerivations } from '../outside/access/secret-hash.ts';
import { cookieName } from './edge/guard.ts';
import type { TypedServer } from './parts.ts';

/** Five tries a minute from one place: a person who mistypes is not held up, a list of words takes years. */
const triesOfOne = { max: 5, timeWindow: 60_000 } as const;
/** From all places together. Signed-in devices and tokens are not touched by it. */
const triesOfAll = { max: 100, timeWindow: 600_000 } as const;

export type AccessRouteParts = { access: Access; idleDays: number; port: number };

/** Signing in and out. Tokens and the passphrase itself are set on the machine, by `brinekeep`, and never over HTTP. */
export async function addAccessRoutes(
  server: TypedServer,
  { access, idleDays, port }: AccessRouteParts,
): Promise<void> {
  await server.register(fastifyRateLimit, { global: false });
  const ofOne = server.createRateLimit({ ...triesOfOne, keyGenerator: placeOf });
  const ofAll = server.createRateLimit({ ...triesOfAll, keyGenerator: () => 'all' });

  server.get('/api/session', { config: { scope: 'open' }, schema: accessApi['GET /api/session'] }, ({ grant }) => ({
    needed: access.isNeeded(),
    signed_in: grant !== null,
    by: grant?.by ?? null,
    scope: grant?.scope ?? null,
  }));

  server.post(
    '/api/session',
    { config: { scope: 'open' }, schema: accessApi['POST /api/session'] },
    async (request, reply) => {
      const one = await ofOne(request);
      if (!one.isAllowed && one.isExceeded) askToWait(reply, one.ttlInSeconds);
      const all = await ofAll(request);
      if (!all.isAllowed && all.isExceeded) askToWait(reply, all.ttlInSeconds);
      const secret = await access
        .signIn(request.body.passphrase, request.headers['user-agent'] ?? '')
        .catch((error: unknown) => {
          if (error instanceof TooManyDerivations) return 'later' as const;
          throw error;
        });
      if (secret === 'later') askToWait(reply, 5);
      if (secret === undefined) {
        request.log.warn({ from: placeOf(request) }, 'a wrong passphrase');
        throw new Refused('wrong_passphrase', 'This is not the passphrase of this hub.');
      }
      request.log.info({ from: placeOf(request) }, 'signed in');
      const secure = isOverTls(request);
      reply.setCookie(cookieName(secure, port), secret, {
        ...cookie,
        secure,
        maxAge: Math.round(idleDays * 86_400),
      });
      void reply.code(204);
      return null;
    },
  );

  server.delete(
    '/api/session',
    { config: { scope: 'read' }, schema: accessApi['DELETE /api/session'] },
    (request, reply) => {
      if (request.grant?.by === 'session') {
        access.signOut(request.grant.session);
        request.log.info('signed out');
      }
      forgetCookies(reply, port);
      void reply.code(204);
      return null;
    },
  );

  server.delete(
    '/api/sessions',
    { config: { scope: 'admin' }, schema: accessApi['DELETE /api/sessions'] },
    (request, reply) => {
      request.log.info({ sessions: access.sessions() }, 'signed out everywhere');
      access.signOutEverywhere();
      forgetCookies(reply, port);
      void reply.code(204);
      return null;
    },
  );
}

const cookie = { path: '/', httpOnly: true, sameSite: 'strict' } as const;

function forgetCookies(reply: FastifyReply, port: number): void {
  for (const secure of [true, false]) reply.setCookie(cookieName(secure, port), '', { ...cookie, secure, maxAge: 0 });
}

/** A browser tells the scheme of its page with what it sends, so a proxy with TLS in front counts as well. */
function isOverTls(request: FastifyRequest): boolean {
  return request.protocol === 'https' || (request.headers.origin ?? '').startsWith('https://');
}

/** The address; of version 6 the network of it, since one device may have any of its addresses. */
function placeOf(request: FastifyRequest): string {
  const { ip } = request;
  if (!isIPv6(ip) || ip.includes('.')) return ip;
  const [head = '', tail = ''] = ip.split('::');
  const left = head.split(':').filter(Boolean);
  const right = tail.split(':').filter(Boolean);
  const groups = ip.includes('::') ? [...left, ...Array(8 - left.length - right.length).fill('0'), ...right] : left;
  return `${groups.slice(0, 4).join(':')}::/64`;
}

/** @throws Refused too_many_tries, with the time to wait in a header */
function askToWait(reply: FastifyReply, seconds: number): never {
  void reply.header('retry-after', String(seconds));
  throw new Refused('too_many_tries', `Wait ${seconds} seconds, then try again.`);
}
