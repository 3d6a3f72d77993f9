import { readFileSync } from 'node:fs';
import type { ServerOptions } from 'node:http';
import type { Server } from 'node:https';
import Fastify, { type FastifyHttpsOptions, type FastifyInstance, type FastifyServerOptions } from 'fastify';
import type { Config } from '../../model/config/schema.ts';
import { answerUnreadable } from './unreadable-request.ts';

/**
 * Whoever sends slower holds a place that others need: a body of the largest size comes in 30 s over any line that shows
 * the page. Looked at every two seconds; by node's own default it would be every 30.
 */
const requestWithinMs = 30_000;
// The types of the lowest Node leave out `headersTimeout`, which it has.
const limits: ServerOptions & { headersTimeout: number } = {
  headersTimeout: 15_000,
  connectionsCheckingInterval: 2000,
  // A phone that left without a goodbye is found out.
  keepAlive: true,
  keepAliveInitialDelay: 60_000,
};
const handshakeWithinMs = 10_000;

/** A server over TLS when the configuration names a certificate, else over plain HTTP; all else is the same. */
export function createFastify(http: Config['http'], given: FastifyServerOptions): FastifyInstance {
  const { cert_file, key_file } = http;
  const options = { ...given, requestTimeout: requestWithinMs, clientErrorHandler: answerUnreadable };
  if (cert_file === undefined || key_file === undefined) return Fastify({ ...options, http: limits });
  const files = { cert: readFileSync(cert_file), key: readFileSync(key_file), minVersion: 'TLSv1.2' as const };
  const https = { ...limits, ...files, handshakeTimeout: handshakeWithinMs };
  // The two differ in the type of the server below them alone, which nobody here looks at.
  return Fastify({ ...options, https } as unknown as FastifyHttpsOptions<Server>) as unknown as FastifyInstance;
}
