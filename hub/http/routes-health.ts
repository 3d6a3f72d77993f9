import type { FastifyReply } from 'fastify';
import { mayRead } from './guard.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const tags = ['health'];

/** What a service manager, a load balancer and a monitoring system ask. */
export function addHealthRoutes(server: TypedServer, parts: HttpParts): void {
  // A step of the clock is seen before the answer is begun, and not in the midst of it.
  server.addHook('onRequest', (_request, _reply, done) => {
    parts.clock.nowMs();
    done();
  });

  /** 200 or 503, never out of a cache. */
  function answer(reply: FastifyReply, isWell: boolean): FastifyReply {
    return reply.code(isWell ? 200 : 503).header('cache-control', 'no-store');
  }

  server.get(
    '/health/alive',
    {
      config: { scope: 'open' },
      schema: { summary: 'Does the hub do its work? 503 when a start anew is the way out', tags },
    },
    (_request, reply) => {
      const { alive } = parts.health();
      return answer(reply, alive).send({ status: alive ? 'alive' : 'stuck' });
    },
  );

  server.get(
    '/health/ready',
    {
      config: { scope: 'open' },
      schema: { summary: 'Is all started, and is what it is told stored? 503 when not', tags },
    },
    (_request, reply) => {
      const { ready } = parts.health();
      return answer(reply, ready).send({ status: ready ? 'ready' : 'not ready' });
    },
  );

  server.get(
    '/health',
    {
      config: { scope: 'open' },
      schema: {
        summary: 'Whether the hub is alive and ready (503 when not), and to whoever may read: each part, with causes',
        tags,
      },
    },
    (request, reply) => {
      const health = parts.health();
      return answer(reply, health.alive && health.ready).send(mayRead(request) ? health : { status: health.status });
    },
  );

  server.get(
    '/metrics',
    { schema: { summary: 'Figures of the hub and the last value of each probe, OpenMetrics text 1.0', tags } },
    async (_request, reply) => {
      const text = parts.metrics.text();
      return reply.header('content-type', parts.metrics.contentType).header('cache-control', 'no-store').send(text);
    },
  );
}
