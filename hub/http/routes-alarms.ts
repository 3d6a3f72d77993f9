import type { FastifyReply } from 'fastify';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import { alarmApi } from '../api/alarms.ts';
import { placeOf } from '../judgement/notices/command.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addAlarmRoutes(server: TypedServer, parts: HttpParts): void {
  const inMs = (minutes: number) => parts.clock.nowMs() + minutes * 60_000;

  /** 204 when it is done and stored. @throws Refused  for what is not there */
  function carryOut(reply: FastifyReply, command: AlarmCommand): null {
    if (!parts.command(command)) {
      if ('alarm' in command) throw new Refused('unknown_alarm', `no active alarm "${command.alarm}"`);
      const { systems } = parts.config;
      if (!systems.some(({ id }) => id === command.system)) throw noSystem(command.system, systems);
      const probe = 'probe' in command ? command.probe : undefined;
      throw new Refused('unknown_probe', `No probe "${probe}" in ${command.system}`);
    }
    // A maintenance window is no event of an alarm, and nobody else would tell the pages.
    parts.live.changed();
    void reply.code(204);
    return null;
  }

  server.get('/api/alarms', { schema: alarmApi['GET /api/alarms'] }, () => parts.sources.standing(parts.clock.nowMs()));

  server.post('/api/alarms/acknowledge', { schema: alarmApi['POST /api/alarms/acknowledge'] }, (request, reply) =>
    carryOut(reply, { do: 'acknowledge', ...request.body }),
  );

  server.post(
    '/api/alarms/shelve',
    {
      schema: alarmApi['POST /api/alarms/shelve'],
    },
    (request, reply) => {
      const { alarm, minutes, by: who, why: reason } = request.body;
      const said = reason === undefined ? { by: who } : { by: who, why: reason };
      return carryOut(reply, { do: 'shelve', alarm, ...said, untilMs: inMs(minutes) });
    },
  );

  server.post('/api/alarms/unshelve', { schema: alarmApi['POST /api/alarms/unshelve'] }, (request, reply) =>
    carryOut(reply, { do: 'unshelve', ...request.body }),
  );

  server.post(
    '/api/maintenance',
    {
      schema: alarmApi['POST /api/maintenance'],
    },
    (request, reply) => {
      const { minutes } = request.body;
      const words = whoAndWhy(request.body);
      return carryOut(reply, { do: 'maintenance', ...placeOf(request.body), by: words, untilMs: inMs(minutes) });
    },
  );

  server.get('/api/maintenance', { schema: alarmApi['GET /api/maintenance'] }, () =>
    parts.sources
      .maintenance(parts.clock.nowMs())
      .map(({ untilMs, ...window }) => ({ ...window, until: new Date(untilMs).toISOString() })),
  );

  server.post('/api/maintenance/end', { schema: alarmApi['POST /api/maintenance/end'] }, (request, reply) =>
    carryOut(reply, { do: 'end_maintenance', ...placeOf(request.body), by: request.body.by }),
  );
}

/** Of a maintenance window the rules keep one line about the person; the reason stands in it. */
function whoAndWhy({ by: who, why: reason }: { by: string; why?: string | undefined }): string {
  return reason === undefined ? who : `${who}: ${reason}`;
}
