import * as z from 'zod';

export const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number(),
  detail: z.string(),
  errors: z.array(z.object({ field: z.string(), need: z.string() })).optional(),
  doubt: z
    .object({
      typed: z.string().describe('with its unit'),
      meant: z
        .object({
          say: z.string().describe('with its unit'),
          change: z.record(z.string(), z.union([z.number(), z.string()])).describe('fields of the entry'),
        })
        .optional()
        .describe('what was most likely meant'),
    })
    .optional()
    .describe('what is asked about an entry'),
});

/** What the hub did not take, as problem details. @source RFC 9457 */
export type Problem = z.infer<typeof problemSchema>;

/** What is asked about an entry: as it was typed, and what was most likely meant. */
export type Doubt = NonNullable<Problem['doubt']>;
