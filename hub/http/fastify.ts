import { readFileSync } from 'node:fs';
import type { Server } from 'node:https';
import Fastify, { type FastifyHttpsOptions, type FastifyInstance, type FastifyServerOptions } from 'fastify';
import type { Config } from '../config/schema.ts';

/** A server over TLS when the configuration names a certificate, else over plain HTTP; all else is the same. */
export function createFastify(http: Config['http'], options: FastifyServerOptions): FastifyInstance {
  const { cert_file, key_file } = http;
  if (cert_file === undefined || key_file === undefined) return Fastify(options);
  const files = { cert: readFileSync(cert_file), key: readFileSync(key_file), minVersion: 'TLSv1.2' as const };
  // The two differ in the type of the server below them alone, which nobody here looks at.
  return Fastify({ ...options, https: files } as unknown as FastifyHttpsOptions<Server>) as unknown as FastifyInstance;
}
