import * as z from 'zod';
import type { HttpParts, TypedServer } from './parts.ts';

const deedSchema = z.object({
  id: z.string().describe('the same while the same thing is to be done'),
  tank: z.string().describe('id of the system; empty for the whole room'),
  urgency: z.enum(['now', 'today', 'soon']),
  what: z.string(),
  more: z.string().optional().describe('why, how much, or what comes next'),
  clock: z
    .object({
      startedMs: z.number(),
      endsMs: z.number(),
      maximumMs: z.number().optional().describe('when it calls louder'),
    })
    .optional()
    .describe('a timer that runs, UTC milliseconds'),
  words: z.string().describe('of the button'),
  act: z.looseObject({ do: z.string() }).describe('the one deed that settles it, with the ids that it is about'),
});

/** What a person should do now or today, over all tanks. */
export function addNowRoutes(server: TypedServer, { clock, todo }: HttpParts): void {
  server.get(
    '/api/now',
    {
      schema: {
        summary: 'What to do now or today over all tanks, the most urgent first',
        tags: ['room'],
        response: {
          200: z.object({
            time: z.number(),
            calm: z.string().optional().describe('one true sentence when there is nothing to do'),
            deeds: z.array(deedSchema),
          }),
        },
      },
    },
    () => {
      const nowMs = clock.nowMs();
      return { time: nowMs, ...todo.list(nowMs) };
    },
  );
}
