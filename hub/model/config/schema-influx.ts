import * as z from 'zod';

export const influxSchema = z.strictObject({
  url: z.string().regex(/^https?:\/\/[^\s]+$/, 'a URL such as http://127.0.0.1:8086'),
  api: z.enum(['v2', 'v1']).default('v2'),
  org: z.string().default(''),
  bucket: z.string().min(1).optional(),
  database: z.string().min(1).optional(),
  username: z.string().min(1).optional(),
  token_env: z.string().min(1).optional(),
  token_file: z.string().min(1).optional(),
  resend_after_seconds: z
    .number()
    .nonnegative()
    .max(3600)
    .optional()
    .describe(
      'For a server that may lose its last seconds when it is killed: every batch is delivered once more after so long; 0 never. 30 for `v1`, since VictoriaMetrics may stand behind it; 0 for `v2`.',
    ),
  most_waiting_batches: z
    .int()
    .min(10)
    .default(200_000)
    .describe(
      'At most so many batches wait on disk; beyond that the oldest is dropped, counted, and an alarm says so.',
    ),
});
