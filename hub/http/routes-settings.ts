import * as z from 'zod';
import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { unitsOf } from '#rules/quantity/unit.ts';
import { settingsChangeSchema } from '../model/settings/settings-schema.ts';
import type { HttpParts, TypedServer } from './parts.ts';

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

function unitsFor(metric: Metric): string[] {
  return [...unitsOf(metric), ...(metric === 'salinity' ? ['sg'] : [])];
}

export function addSettingsRoutes(server: TypedServer, { settings, clock }: HttpParts): void {
  function view(): SettingsView {
    const { file } = settings;
    const chosen = settings.chosen();
    const quietOf = (priority: 'medium' | 'low') => ({
      file: file.notices.quiet_hours[priority],
      chosen: chosen.quiet_hours[priority] ?? null,
    });
    return {
      timezone: file.site.timezone,
      units: metrics
        .filter((metric) => unitsFor(metric).length > 1)
        .map((metric) => ({
          metric,
          label: metricFacts[metric].label,
          units: unitsFor(metric),
          file: file.display_units[metric] ?? metricFacts[metric].unit,
          chosen: chosen.display_units[metric] ?? null,
        })),
      quiet_hours: { medium: quietOf('medium'), low: quietOf('low') },
    };
  }

  server.get(
    '/api/settings',
    {
      schema: {
        summary: 'What can be set in the page, with the value of the file and the one chosen over it',
        tags: ['settings'],
        response: { 200: settingsView },
      },
    },
    view,
  );

  server.post(
    '/api/settings',
    {
      schema: {
        summary: 'Lay values over those of the file, or take them away again; the file is never written',
        tags: ['settings'],
        body: settingsChangeSchema,
        response: { 200: settingsView },
      },
    },
    (request) => {
      settings.change(request.body, clock.nowMs());
      return view();
    },
  );
}
