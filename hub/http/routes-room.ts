import { z } from 'zod';
import { mostLiveClients } from '../live/live-clients.ts';
import { createDayPlots } from './day-plots.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';
import { roomView } from './room-view.ts';

export function addRoomRoutes(server: TypedServer, parts: HttpParts): void {
  const plots = createDayPlots(parts.store);

  server.get(
    '/api/room',
    { schema: { summary: 'Every system with its metrics, tests, alarms and advice', tags: ['room'] } },
    () => roomView(parts.sources, plots, parts.clock.nowMs()),
  );

  server.get(
    '/api/live',
    {
      // A HEAD would join as a page that never reads and never ends.
      exposeHeadRoute: false,
      schema: {
        summary: 'Server-sent events: `values` with new readings, `changed` when the room is to be fetched anew',
        tags: ['room'],
        produces: ['text/event-stream'],
      },
    },
    (_request, reply) => {
      if (parts.live.size() >= mostLiveClients) {
        return sendProblem(reply, {
          type: 'about:blank',
          title: 'Too many open pages',
          status: 503,
          detail: `at most ${mostLiveClients} pages can be live at once; close one`,
        });
      }
      reply.hijack();
      reply.raw.writeHead(200, {
        'content-type': 'text/event-stream',
        'cache-control': 'no-store',
        connection: 'keep-alive',
        'x-accel-buffering': 'no',
      });
      parts.live.join(reply.raw);
      return reply;
    },
  );

  server.get(
    '/api/advice/:system',
    {
      schema: {
        summary: 'Suggested doses with their reasons',
        tags: ['advice'],
        params: z.object({ system: z.string() }),
      },
    },
    (request, reply) => {
      const { system } = request.params;
      if (!parts.config.systems.some((each) => each.id === system)) {
        return sendProblem(reply, {
          type: 'about:blank',
          title: 'No such system',
          status: 404,
          detail: `no system "${system}"`,
        });
      }
      return parts.sources.advice(system);
    },
  );

  server.get('/health', { schema: { summary: 'Is the hub alive, and which edge is not', tags: ['health'] } }, () =>
    parts.health(),
  );
}
