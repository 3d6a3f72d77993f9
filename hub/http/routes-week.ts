import { weekApi } from '../api/week.ts';
import { Refused } from '../model/refusals/refused.ts';
import { reviewPolicy } from '../reports/week/review/review-html.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addWeekRoutes(server: TypedServer, { week }: HttpParts): void {
  server.get('/api/weeks/:week/:file', { schema: weekApi['GET /api/weeks/:week/:file'] }, (request, reply) => {
    const { week: asked, file } = request.params;
    const wanted =
      file === 'demand.csv'
        ? week.demand(asked)
        : week.tables(asked).find((each) => each.name.startsWith(file.replace('.csv', '')));
    const { name, text } = orNoSuchWeek(wanted, asked);
    return reply
      .type('text/csv; charset=utf-8')
      .header('content-disposition', `attachment; filename="${name}"`)
      .send(text);
  });

  server.get('/api/weeks/:week/review', { schema: weekApi['GET /api/weeks/:week/review'] }, (request) =>
    orNoSuchWeek(week.review(request.params.week), request.params.week),
  );

  server.get(
    '/api/weeks/:week/review.html',
    { schema: weekApi['GET /api/weeks/:week/review.html'] },
    (request, reply) => {
      const { name, text } = orNoSuchWeek(week.page(request.params.week), request.params.week);
      return (
        reply
          .type('text/html; charset=utf-8')
          // In place of that of the page, which would leave the document without its own style.
          .header('content-security-policy', `${reviewPolicy}; frame-ancestors 'none'`)
          .header('content-disposition', `inline; filename="${name}"`)
          .send(text)
      );
    },
  );
}

function orNoSuchWeek<Found>(found: Found | undefined, asked: string): Found {
  if (found === undefined) throw new Refused('unknown_week', `no file for ${asked}`);
  return found;
}
