import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { settingsChangeSchema } from '../model/settings/settings-schema.ts';

const tags = ['settings'];

const windowSchema = z.object({ from: z.string(), to: z.string() });
const quietSchema = z.object({ file: windowSchema, chosen: windowSchema.nullable() });

const settingsView = z.object({
  timezone: z.string(),
  units: z.array(
    z.object({
      metric: z.enum(metrics),
      label: z.string(),
      units: z
        .array(z.string())
        .describe("the units it may be shown in, the store's own first; empty for a pure number"),
      file: z.string(),
      chosen: z.string().nullable().describe('null: the value of the configuration file'),
    }),
  ),
  quiet_hours: z.object({ medium: quietSchema, low: quietSchema }),
});

/** What the page of settings shows. */
export type SettingsView = z.infer<typeof settingsView>;

export const settingsApi = {
  'GET /api/settings': {
    summary: 'What can be set on the page, with the value of the file and the one that overrides it',
    tags,
    response: { 200: settingsView },
  },
  'POST /api/settings': {
    summary: 'Override values of the file, or drop the override; the file is never written',
    tags,
    body: settingsChangeSchema,
    response: { 200: settingsView },
  },
};
