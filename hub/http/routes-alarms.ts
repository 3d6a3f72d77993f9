import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import { alarmId, commandMinutes, placeOf } from '../notices/command.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const by = z.string().min(1).max(60).default('page');
const place = { system: z.string().min(1).max(60), probe: z.string().min(1).max(60).optional() };
const tags = ['alarms'];

export function addAlarmRoutes(server: TypedServer, parts: HttpParts): void {
  const inMs = (minutes: number) => parts.clock.nowMs() + minutes * 60_000;

  /** 204 when it is done and stored, else 404. */
  function carryOut(reply: FastifyReply, command: AlarmCommand): FastifyReply {
    if (parts.command(command)) return reply.code(204).send();
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
        summary: 'Hide an alarm for a time, at most seven days',
        tags,
        body: z.strictObject({ alarm: alarmId, minutes: commandMinutes, by }),
      },
    },
    (request, reply) => {
      const { alarm, minutes, by: who } = request.body;
      return carryOut(reply, { do: 'shelve', alarm, by: who, untilMs: inMs(minutes) });
    },
  );

  server.post(
    '/api/alarms/unshelve',
    { schema: { summary: 'End a shelving', tags, body: z.strictObject({ alarm: alarmId, by }) } },
    (request, reply) => carryOut(reply, { do: 'unshelve', ...request.body }),
  );

  server.post(
    '/api/maintenance',
    {
      schema: {
        summary: 'Judge nothing of a system, or of one probe, for a time of at most a day: probes are out of the water',
        tags,
        body: z.strictObject({ ...place, minutes: commandMinutes, by }),
      },
    },
    (request, reply) => {
      const { minutes, by: who } = request.body;
      return carryOut(reply, { do: 'maintenance', ...placeOf(request.body), by: who, untilMs: inMs(minutes) });
    },
  );

  server.post(
    '/api/maintenance/end',
    { schema: { summary: 'End a maintenance window', tags, body: z.strictObject({ ...place, by }) } },
    (request, reply) => carryOut(reply, { do: 'end_maintenance', ...placeOf(request.body), by: request.body.by }),
  );
}
