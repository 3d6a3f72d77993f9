import * as z from 'zod';
import { bathWaterSchema, doneSchema, runStartSchema } from '../model/entries/arrival-schemas.ts';
import { matchSchema } from './batches.ts';
import { byId } from './by-id.ts';

const tags = ['arrivals'];

const runId = z.object({ run: z.string().min(1).max(60) });

const nothing = z.strictObject({});

const waterSchema = z.object({
  temperature: z.number().optional(),
  salinity: z.number().optional(),
  ph: z.number().optional(),
});

const bathSchema = z.object({
  tank_l: z.number(),
  bag_l: z.number(),
  replace_l: z.number().describe('new salt water into the tank to replace what the dip took'),
  rinse_l: z.number(),
  fresh_l: z.number(),
  reagents: z.array(z.object({ name: z.string(), volume_ml: z.number() })),
  soak_minutes: z.number(),
  cautions: z.array(z.string()),
});

export const shockSchema = z.object({
  is_large: z.boolean(),
  unknown: z.array(z.string()),
  warnings: z.array(z.string()),
  differences: z.array(z.object({ metric: z.string(), from: z.number(), to: z.number(), is_large: z.boolean() })),
});

const bathCheckSchema = z.object({
  water: waterSchema,
  by: z.enum(['probes', 'test', 'mixture', 'nothing']),
  to_tank: shockSchema,
  from_bag: shockSchema.nullable(),
  warnings: z.array(z.string()),
});

const runSchema = z.object({
  id: z.string(),
  arrival: z.string(),
  protocol: z.string(),
  step: z.number().describe('the first is 1; one more than there are when all are done'),
  steps: z.array(z.object({ step: z.string(), words: z.string(), minutes: z.number().nullable() })),
  is_finished: z.boolean(),
  words: z.string(),
  cautions: z.array(z.string()),
  timer: z
    .object({ started: z.string(), ends: z.string(), maximum: z.string().nullable(), left_seconds: z.number() })
    .nullable(),
  bath: bathSchema.nullable(),
  bath_check: bathCheckSchema.nullable(),
  new_water: matchSchema.nullable(),
  done: z.array(
    z.object({
      step: z.number(),
      words: z.string(),
      done: z.string(),
      findings: z.string().nullable(),
      took_minutes: z
        .number()
        .nullable()
        .describe('by its clock; null for a step without minutes or without its clock'),
      early_minutes: z.number().nullable().describe('how much of its minutes was left out; null as took_minutes'),
    }),
  ),
});

export type RunAnswer = z.infer<typeof runSchema>;

export type BathAnswer = z.infer<typeof bathSchema>;

export type BathCheckAnswer = z.infer<typeof bathCheckSchema>;

export type ShockAnswer = z.infer<typeof shockSchema>;

const response = { 200: runSchema };

/** Protocols at work: steps, timers, baths. */
export const runApi = {
  'POST /api/arrivals/:id/runs': {
    summary: 'Start a protocol',
    tags,
    params: byId,
    body: runStartSchema,
    response: { 201: runSchema },
  },
  'GET /api/runs/:run': {
    summary: 'The step at hand with its bath, timer and cautions',
    tags,
    params: runId,
    response,
  },
  'POST /api/runs/:run/timer': {
    summary: 'Start the timer of the step at hand',
    tags,
    params: runId,
    body: nothing,
    response,
  },
  'POST /api/runs/:run/done': {
    summary: 'Mark the step at hand as done; before its time is up only with `early`',
    tags,
    params: runId,
    body: doneSchema,
    response,
  },
  'POST /api/runs/:run/undo': {
    summary: 'Undo the last step, marked done by mistake; its timer goes on by the same clock',
    tags,
    params: runId,
    body: nothing,
    response,
  },
  'POST /api/runs/:run/bath-water': {
    summary: 'Log what was measured in the bath and the bags',
    tags,
    params: runId,
    body: bathWaterSchema,
    response: { 200: bathCheckSchema },
  },
  'DELETE /api/runs/:run': {
    summary: 'Abandon a protocol; refused while its pieces soak',
    tags,
    params: runId,
    response: { 204: z.null() },
  },
};
