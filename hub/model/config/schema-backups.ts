import * as z from 'zod';

/**
 * A copy of the store every night, opened and checked before it counts. Beside the store it protects from a damaged file, a
 * bad update or a slip, and not from a dead card: for that let `dir` lie on another disk, or carry the files away.
 */
export const backupsSchema = z.strictObject({
  enabled: z.boolean().default(true),
  dir: z.string().min(1).optional().describe('Without it: `backups` below `data_dir`.'),
  at: z
    .string()
    .regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a time of day such as 03:30')
    .default('03:30')
    .describe("By the wall clock of the site's zone."),
  keep_daily: z
    .int()
    .min(1)
    .max(366)
    .default(7)
    .describe(
      'The newest backup of so many days, ISO weeks and months; the rest of those that the hub made is deleted.',
    ),
  keep_weekly: z.int().min(0).max(520).default(0),
  keep_monthly: z.int().min(0).max(120).default(0),
});
