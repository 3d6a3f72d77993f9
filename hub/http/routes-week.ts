import { z } from 'zod';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

export function addWeekRoutes(server: TypedServer, parts: HttpParts): void {
  server.get(
    '/api/weeks/:week/:file',
    {
      schema: {
        summary: 'A file of the weekly export',
        tags: ['week'],
        params: z.object({
          week: z.string().regex(/^\d{4}-W\d{2}$/, 'an ISO week such as 2026-W47'),
          file: z.enum(['daily.csv', 'tests-doses.csv', 'alarms.csv', 'corals.csv']),
        }),
      },
    },
    (request, reply) => {
      const { week, file } = request.params;
      const wanted = parts.week.files(week).find((each) => each.name.startsWith(file.replace('.csv', '')));
      if (wanted === undefined) {
        return sendProblem(reply, {
          type: 'about:blank',
          title: 'No such week',
          status: 404,
          detail: `no file for ${week}`,
        });
      }
      return reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', `attachment; filename="${wanted.name}"`)
        .send(wanted.text);
    },
  );
}
