import type { FastifyReply } from 'fastify';
import * as z from 'zod';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import { alarmId, placeOf, why } from '../judgement/notices/command.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const by = z.string().min(1).max(60).default('page');
const place = { system: z.string().min(1).max(60), probe: z.string().min(1).max(60).optional() };
const tags = ['alarms'];
const minutesOfDays = (days: number) =>
  z
    .number()
    .positive()
    .max(days * 24 * 60);

export function addAlarmRoutes(server: TypedServer, parts: HttpParts): void {
  const inMs = (minutes: number) => parts.clock.nowMs() + minutes * 60_000;

  /** 204 when it is done and stored, else 404. */
  function carryOut(reply: FastifyReply, command: AlarmCommand): FastifyReply {
    if (parts.command(command)) {
      // A maintenance window is no event of an alarm, and nobody else would tell the pages.
      parts.live.changed();
      return reply.code(204).send();
    }
    const [title, detail] =
      'alarm' in command
        ? ['No such alarm', `no alarm "${command.alarm}" stands`]
        : ['No such system or probe', `no system "${command.system}", or no such probe in it`];
    return sendProblem(reply, { type: 'about:blank', title, status: 404, detail });
  }

  server.get('/api/alarms', { schema: { summary: 'Alarms that stand or wait for an acknowledgement', tags } }, () =>
    parts.sources.standing(parts.clock.nowMs()),
  );

  server.post(
    '/api/alarms/acknowledge',
    { schema: { summary: 'Acknowledge an alarm', tags, body: z.strictObject({ alarm: alarmId, by }) } },
    (request, reply) => carryOut(reply, { do: 'acknowledge', ...request.body }),
  );

  server.post(
    '/api/alarms/shelve',
    {
      schema: {
        summary:
          'Silence an alarm for a time: at most what the configuration allows, one that asks to act now with a reason',
        tags,
        body: z.strictObject({ alarm: alarmId, minutes: minutesOfDays(7), by, why }),
      },
    },
    (request, reply) => {
      const { alarm, minutes, by: who, why: reason } = request.body;
      const said = reason === undefined ? { by: who } : { by: who, why: reason };
      return carryOut(reply, { do: 'shelve', alarm, ...said, untilMs: inMs(minutes) });
    },
  );

  server.post(
    '/api/alarms/unshelve',
    { schema: { summary: 'End the silence of an alarm', tags, body: z.strictObject({ alarm: alarmId, by }) } },
    (request, reply) => carryOut(reply, { do: 'unshelve', ...request.body }),
  );

  server.post(
    '/api/maintenance',
    {
      schema: {
        summary: 'Judge nothing of a system, or of one probe, for a time of at most a day: probes are out of the water',
        tags,
        body: z.strictObject({ ...place, minutes: minutesOfDays(1), by, why }),
      },
    },
    (request, reply) => {
      const { minutes } = request.body;
      const words = whoAndWhy(request.body);
      return carryOut(reply, { do: 'maintenance', ...placeOf(request.body), by: words, untilMs: inMs(minutes) });
    },
  );

  server.get(
    '/api/maintenance',
    { schema: { summary: 'Systems and probes that are not judged now, until when, and by whose word', tags } },
    () =>
      parts.sources
        .maintenance(parts.clock.nowMs())
        .map(({ untilMs, ...window }) => ({ ...window, until: new Date(untilMs).toISOString() })),
  );

  server.post(
    '/api/maintenance/end',
    { schema: { summary: 'End a maintenance window', tags, body: z.strictObject({ ...place, by }) } },
    (request, reply) => carryOut(reply, { do: 'end_maintenance', ...placeOf(request.body), by: request.body.by }),
  );
}

/** Of a maintenance window the rules keep one line about the person; the reason stands in it. */
function whoAndWhy({ by: who, why: reason }: { by: string; why?: string | undefined }): string {
  return reason === undefined ? who : `${who}: ${reason}`;
}
