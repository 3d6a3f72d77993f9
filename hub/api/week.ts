import * as z from 'zod';
import { reviewSchema } from '../model/answers/review-schema.ts';

const tags = ['week'];
const week = z.string().regex(/^\d{4}-W\d{2}$/, 'an ISO week such as 2026-W47');

export const weekApi = {
  'GET /api/weeks/:week/:file': {
    summary: 'A file of the weekly export',
    tags,
    params: z.object({
      week,
      file: z.enum(['daily.csv', 'tests-doses.csv', 'demand.csv', 'alarms.csv', 'corals.csv']),
    }),
  },
  'GET /api/weeks/:week/review': {
    summary: 'The figures of a week, and what to do',
    tags,
    params: z.object({ week }),
    response: { 200: reviewSchema },
  },
  'GET /api/weeks/:week/review.html': {
    summary: 'The week as one page to read and to print',
    tags,
    params: z.object({ week }),
  },
};
