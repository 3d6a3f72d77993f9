import * as z from 'zod';
import { healthSchema } from '../model/answers/health-schema.ts';

const tags = ['health'];

const both = <Answer extends z.ZodType>(answer: Answer) => ({ 200: answer, 503: answer });

export const healthApi = {
  'GET /health/alive': {
    summary: 'Is the hub working? 503 when only a restart helps',
    tags,
    response: both(z.object({ status: z.enum(['alive', 'stuck']) })),
  },
  'GET /health/ready': {
    summary: 'Is everything started, and is what comes in stored? 503 when not',
    tags,
    response: both(z.object({ status: z.enum(['ready', 'not ready']) })),
  },
  'GET /health': {
    summary: 'Whether the hub is alive and ready (503 when not), and to whoever may read: each part, with causes',
    tags,
    response: both(z.union([healthSchema, healthSchema.pick({ status: true })])),
  },
  'GET /metrics': { summary: 'Figures of the hub and the last value of each probe, OpenMetrics text 1.0', tags },
};
