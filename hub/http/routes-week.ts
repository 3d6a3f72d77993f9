import type { FastifyReply } from 'fastify';
import * as z from 'zod';
import { reviewPolicy } from '../reports/week/review/review-html.ts';
import { reviewSchema } from '../reports/week/review/review-schema.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const tags = ['week'];
const week = z.string().regex(/^\d{4}-W\d{2}$/, 'an ISO week such as 2026-W47');

function noSuchWeek(reply: FastifyReply, asked: string): FastifyReply {
  return sendProblem(reply, {
    type: 'about:blank',
    title: 'No such week',
    status: 404,
    detail: `no file for ${asked}`,
  });
}

export function addWeekRoutes(server: TypedServer, parts: HttpParts): void {
  server.get(
    '/api/weeks/:week/:file',
    {
      schema: {
        summary: 'A file of the weekly export',
        tags,
        params: z.object({
          week,
          file: z.enum(['daily.csv', 'tests-doses.csv', 'alarms.csv', 'corals.csv']),
        }),
      },
    },
    (request, reply) => {
      const { week: asked, file } = request.params;
      const wanted = parts.week.tables(asked).find((each) => each.name.startsWith(file.replace('.csv', '')));
      if (wanted === undefined) return noSuchWeek(reply, asked);
      return reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', `attachment; filename="${wanted.name}"`)
        .send(wanted.text);
    },
  );

  server.get(
    '/api/weeks/:week/review',
    {
      schema: {
        summary: 'The figures of a week, and what is to be done',
        tags,
        params: z.object({ week }),
        response: { 200: reviewSchema },
      },
    },
    (request, reply) => {
      const review = parts.week.review(request.params.week);
      if (review === undefined) void noSuchWeek(reply, request.params.week);
      else void reply.send(review);
    },
  );

  server.get(
    '/api/weeks/:week/review.html',
    { schema: { summary: 'The week as one page to read and to print', tags, params: z.object({ week }) } },
    (request, reply) => {
      const page = parts.week.page(request.params.week);
      if (page === undefined) return noSuchWeek(reply, request.params.week);
      return (
        reply
          .type('text/html; charset=utf-8')
          // In place of that of the page, which would leave the document without its own style.
          .header('content-security-policy', `${reviewPolicy}; frame-ancestors 'none'`)
          .header('content-disposition', `inline; filename="${page.name}"`)
          .send(page.text)
      );
    },
  );
}
