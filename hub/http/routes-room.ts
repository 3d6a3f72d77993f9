import { roomApi } from '../api/room.ts';
import type { DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import type { Grant } from '../outside/access/access.ts';
import { mostLiveClients, mostLiveOfOne } from '../outside/live/live-clients.ts';
import { sendProblem } from './edge/problem.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { createDayPlots } from './views/day-plots.ts';
import { makePlots, roomView } from './views/room-view.ts';

/** A twentieth of the time at most, while there is anything to make. */
const makingEveryMs = 200;
const makingForMs = 10;

export function addRoomRoutes(server: TypedServer, parts: HttpParts, declined: DeclinedAdvice): void {
  const plots = createDayPlots(parts.store);
  const room = { sources: parts.sources, plots, declined };
  // Pictures are made in between, so that no answer waits for those of all probes.
  const making = setInterval(() => {
    try {
      makePlots(room, parts.clock.nowMs(), makingForMs);
    } catch (error) {
      server.log.error({ err: error }, 'the pictures of the last day cannot be made');
    }
  }, makingEveryMs);
  making.unref();
  server.addHook('onClose', async () => clearInterval(making));

  server.get('/api/room', { schema: roomApi['GET /api/room'] }, () => roomView(room, parts.clock.nowMs()));

  server.get(
    '/api/live',
    {
      // A HEAD would join as a page that never reads and never ends.
      exposeHeadRoute: false,
      schema: roomApi['GET /api/live'],
    },
    (request, reply) => {
      const who = request.grant === null ? undefined : whoHolds(request.grant);
      if (!parts.live.hasRoom(who)) {
        return sendProblem(reply, {
          type: 'about:blank',
          title: 'Too many open pages',
          status: 503,
          detail: `at most ${mostLiveClients} pages can be live at once, ${mostLiveOfOne} of one device or token; close one`,
        });
      }
      reply.hijack();
      reply.raw.writeHead(200, {
        'content-type': 'text/event-stream',
        'cache-control': 'no-store',
        connection: 'keep-alive',
        'x-accel-buffering': 'no',
      });
      parts.live.join(reply.raw, who);
      return reply;
    },
  );
}

/** A device that signed in, or a token; on the machine itself without a passphrase nobody can be told from another. */
function whoHolds(grant: Grant): string | undefined {
  if (grant.by === 'machine') return undefined;
  return grant.by === 'token' ? grant.token : grant.session;
}
