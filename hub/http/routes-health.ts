import type { FastifyReply } from 'fastify';
import { healthApi } from '../api/health.ts';
import { mayRead } from './edge/guard.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const config = { scope: 'open' } as const;

/** What a service manager, a load balancer and a monitoring system ask. */
export function addHealthRoutes(server: TypedServer, parts: HttpParts): void {
  // A step of the clock is seen before the answer is begun, and not in the midst of it.
  server.addHook('onRequest', (_request, _reply, done) => {
    parts.clock.nowMs();
    done();
  });

  server.get('/health/alive', { config, schema: healthApi['GET /health/alive'] }, (_request, reply) => {
    const { alive } = parts.health();
    prepare(reply, alive);
    return { status: alive ? 'alive' : 'stuck' } as const;
  });

  server.get('/health/ready', { config, schema: healthApi['GET /health/ready'] }, (_request, reply) => {
    const { ready } = parts.health();
    prepare(reply, ready);
    return { status: ready ? 'ready' : 'not ready' } as const;
  });

  server.get('/health', { config, schema: healthApi['GET /health'] }, (request, reply) => {
    const health = parts.health();
    prepare(reply, health.alive && health.ready);
    return mayRead(request) ? health : { status: health.status };
  });

  server.get('/metrics', { schema: healthApi['GET /metrics'] }, async (_request, reply) => {
    const text = parts.metrics.text();
    return reply.header('content-type', parts.metrics.contentType).header('cache-control', 'no-store').send(text);
  });
}

/** 200 or 503, never out of a cache. */
function prepare(reply: FastifyReply, isWell: boolean): void {
  void reply.code(isWell ? 200 : 503).header('cache-control', 'no-store');
}
