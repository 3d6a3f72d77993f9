import * as z from 'zod';
import type { Act, Deed } from '#rules/now/deed.ts';
import { timeMs } from './series.ts';

const id = z.string();
const ofArrival = { arrival: id };

/** The one deed that settles a line, with the ids that it is about. */
const act = z.discriminatedUnion('do', [
  z.object({ do: z.literal('acknowledge'), alarm: id }),
  z.object({ do: z.literal('look'), system: id }),
  z.object({
    do: z.enum(['arrived', 'start_checklist', 'prepare_water', 'rack_set', 'inspect', 'dip_again', 'open_arrival']),
    ...ofArrival,
  }),
  z.object({ do: z.enum(['start_timer', 'step_done', 'open_step']), ...ofArrival, run: id }),
  z.object({ do: z.literal('open_piece'), piece: id }),
  z.object({ do: z.literal('test'), system: id, analytes: z.array(z.string()).readonly() }),
  z.object({ do: z.literal('dose'), system: id, analyte: z.string() }),
  z.object({ do: z.literal('open_batch'), batch: id }),
  z.object({ do: z.literal('calibrate'), probe: id }),
  z.object({ do: z.literal('compare_kit'), kit: id }),
  z.object({ do: z.literal('refill'), system: id, stock: id }),
]) satisfies z.ZodType<Act>;

const deed = z.object({
  id: id.describe('the same while the same thing is to be done'),
  tank: z.string().describe('id of the system; empty for the whole room'),
  urgency: z.enum(['now', 'today', 'soon']),
  what: z.string(),
  more: z.string().optional().describe('why, how much, or what comes next'),
  beside: z.string().optional().describe('of a dose: on top of which daily one, or instead of it'),
  clock: z
    .object({ startedMs: timeMs, endsMs: timeMs, maximumMs: timeMs.optional().describe('when it gets louder') })
    .optional()
    .describe('a running timer'),
  words: z.string().describe('of the button'),
  act,
} satisfies Record<keyof Deed, z.ZodType>);

const nowList = z.object({
  time: timeMs,
  calm: z.string().optional().describe('one true sentence when there is nothing to do'),
  deeds: z.array(deed),
});

/** What there is to do, the most urgent first. */
export type NowAnswer = z.infer<typeof nowList>;

export const nowApi = {
  'GET /api/now': {
    summary: 'What to do now or today over all tanks, the most urgent first',
    tags: ['room'],
    response: { 200: nowList },
  },
};
