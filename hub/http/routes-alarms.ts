import { z } from 'zod';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const by = z.string().min(1).max(60).default('page');

export function addAlarmRoutes(server: TypedServer, parts: HttpParts): void {
  server.get(
    '/api/alarms',
    { schema: { summary: 'Alarms that stand or wait for an acknowledgement', tags: ['alarms'] } },
    () => parts.sources.standing(parts.clock.nowMs()),
  );

  server.post(
    '/api/alarms/acknowledge',
    {
      schema: {
        summary: 'Acknowledge an alarm',
        tags: ['alarms'],
        body: z.strictObject({ alarm: z.string().min(1).max(200), by }),
      },
    },
    (request, reply) =>
      parts.command({ do: 'acknowledge', ...request.body })
        ? reply.code(204).send()
        : sendProblem(reply, {
            type: 'about:blank',
            title: 'No such alarm',
            status: 404,
            detail: `no alarm "${request.body.alarm}" stands`,
          }),
  );
}
