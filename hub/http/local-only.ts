import type { FastifyReply, FastifyRequest } from 'fastify';
import { sendProblem } from './problem.ts';

const localNames = new Set(['localhost', '127.0.0.1', '[::1]']);

function isLocal(authority: string): boolean {
  return localNames.has(authority.replace(/:\d+$/, ''));
}

/**
 * While there is no sign-in, only this machine may ask: the server listens on loopback, and this refuses a page of
 * another site that reaches for it through the keeper's own browser (by Origin) or a name that points here (by Host).
 */
export function refuseStrangers(request: FastifyRequest, reply: FastifyReply, done: () => void): void {
  const origin = request.headers.origin;
  const originHost = origin === undefined ? undefined : /^https?:\/\/(.+)$/.exec(origin)?.[1];
  if (!isLocal(request.headers.host ?? '') || (origin !== undefined && !isLocal(originHost ?? ''))) {
    void sendProblem(reply, {
      type: 'about:blank',
      title: 'Only from this machine',
      status: 403,
      detail: 'Open the page by the address http://127.0.0.1 on the machine itself, or through an SSH tunnel.',
    });
    return;
  }
  done();
}
