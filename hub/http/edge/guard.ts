import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { includes, type RouteScope, scopeByDefault } from '../../model/access/scope.ts';
import { hiddenIn } from '../../model/refusals/hidden-characters.ts';
import type { Access, Grant } from '../../outside/access/access.ts';
import { isOfOwnPage, isOwnName, isSafe, saysWhereFrom } from './own-names.ts';
import { sendProblem } from './problem.ts';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** What the route asks for; by its method when it does not say. */
    scope?: RouteScope;
  }
  interface FastifyRequest {
    /** Who asks; null for a stranger, who gets this far on an `open` route only. */
    grant: Grant | null;
  }
}

/** Over TLS a name that no other host can set, nor this one without TLS. */
const cookieNames = { secure: '__Host-brinekeep', plain: 'brinekeep-session' } as const;

/** Cookies know no ports (RFC 6265, 8.5): the name parts those of hubs on one host. */
export function cookieName(isSecure: boolean, port: number): string {
  return `${isSecure ? cookieNames.secure : cookieNames.plain}-${port}`;
}

export function mayRead(request: FastifyRequest): boolean {
  return request.grant !== null && includes(request.grant.scope, 'read');
}

/**
 * Stands before every route: asked by an own name, by nobody else's page, by somebody who may. The cookie parser has to be
 * registered before it. An answer that is still open when its grant ends is cut off, the live stream first of all.
 */
export function addGuard(server: FastifyInstance, access: Access, names: readonly string[], port: number): void {
  server.addHook('onClose', async () => access.stop());
  server.decorateRequest('grant', null);
  server.addHook('onRequest', (request, reply, done) => {
    if (hostsIn(request) > 1) return refuseName(reply);
    if (!isOwnName(request.headers.host, request.socket.localAddress, names)) return refuseName(reply);
    if (!isOfOwnPage(request)) return refusePage(reply);
    const bearer = /^Bearer +([A-Za-z0-9._~+/=-]{1,200})$/i.exec(request.headers.authorization ?? '')?.[1];
    const cookie = request.cookies[cookieName(true, port)] ?? request.cookies[cookieName(false, port)];
    const grant = access.grantOf(bearer, cookie) ?? null;
    request.grant = grant;
    const needed = neededScope(request);
    if (needed !== 'open') {
      if (grant === null) return askForSignIn(reply);
      if (!includes(grant.scope, needed)) return refuseScope(reply, needed, grant.scope);
    }
    // A token is put in by hand; a cookie comes along with whatever a page sends.
    if (grant?.by === 'session' && !isSafe(request.method) && !saysWhereFrom(request)) return refusePage(reply);
    if (grant !== null) {
      const forget = access.whileGranted(grant, () => {
        // What was asked in time is answered; only what goes on and on is cut off.
        if (!reply.raw.headersSent) return false;
        reply.raw.destroy();
        return true;
      });
      reply.raw.once('close', forget);
    }
    done();
  });
  server.addHook('preValidation', (request, reply, done) => {
    const where = hiddenIn(request.body);
    if (where === undefined || Buffer.isBuffer(request.body)) return done();
    void sendProblem(reply, {
      type: 'urn:brinekeep:problem:hidden_characters',
      title: 'Text with hidden characters',
      status: 400,
      detail: `${where}: found a control character or one that turns the direction of the text; type it again without`,
    });
  });
}

/** Node hands over the first of several; a proxy in front may have gone by another one. @source RFC 9112, 3.2 */
function hostsIn({ raw }: FastifyRequest): number {
  return raw.rawHeaders.filter((name, index) => index % 2 === 0 && name.toLowerCase() === 'host').length;
}

function neededScope(request: FastifyRequest): RouteScope {
  // What is not there is no secret.
  if (request.is404) return 'open';
  return request.routeOptions.config.scope ?? scopeByDefault(request.method, request.routeOptions.url ?? '');
}

function askForSignIn(reply: FastifyReply): void {
  void sendProblem(reply.header('www-authenticate', 'Bearer realm="brinekeep"'), {
    type: 'urn:brinekeep:problem:sign_in',
    title: 'Sign in first',
    status: 401,
    detail: 'Sign in on the page, or send a token as Authorization: Bearer (brinekeep token add makes one).',
  });
}

function refuseScope(reply: FastifyReply, needed: RouteScope, given: RouteScope): void {
  void sendProblem(reply, {
    type: 'urn:brinekeep:problem:scope',
    title: 'Not with this token',
    status: 403,
    detail: `this needs the scope ${needed}; the token has ${given}`,
  });
}

function refuseName(reply: FastifyReply): void {
  void sendProblem(reply, {
    type: 'urn:brinekeep:problem:name',
    title: 'Not by this name',
    status: 403,
    detail:
      'The hub answers at 127.0.0.1 on the machine itself, at its own address, and by the names below http.names.',
  });
}

function refusePage(reply: FastifyReply): void {
  void sendProblem(reply, {
    type: 'urn:brinekeep:problem:origin',
    title: 'Not from another page',
    status: 403,
    detail: 'Only a page of this hub may ask this, and a browser says which page asks.',
  });
}
