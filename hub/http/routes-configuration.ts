import * as z from 'zod';
import { readableConfig } from '../model/settings/readable-config.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const configurationView = z.object({
  path: z.string().nullable().describe('null where the hub was started without a file, as in the demo'),
  text: z.string().describe('what is in force, with every default, as YAML; secrets are never shown'),
  chosen_in_page: z.array(z.string()).describe('keys whose value was chosen in the page and lies over the file'),
  file: z
    .object({
      state: z.enum(['as_started', 'changed', 'unreadable']),
      problems: z.array(z.object({ line: z.number(), column: z.number(), path: z.string(), text: z.string() })),
      warnings: z.array(z.string()),
    })
    .nullable(),
});

/** What the page of the configuration shows. */
export type ConfigurationView = z.infer<typeof configurationView>;

export function addConfigurationRoutes(server: TypedServer, { settings, configFile }: HttpParts): void {
  server.get(
    '/api/configuration',
    {
      // It names paths, users and addresses, which is more than whoever may look at the water needs.
      config: { scope: 'admin' },
      schema: {
        summary: 'The configuration in force, and what is wrong with its file as it is now',
        tags: ['settings'],
        response: { 200: configurationView },
      },
    },
    (): ConfigurationView => {
      const { display_units, quiet_hours } = settings.chosen();
      return {
        path: configFile?.path ?? null,
        text: readableConfig(settings.effective()),
        chosen_in_page: [
          ...Object.keys(display_units).map((metric) => `display_units.${metric}`),
          ...Object.keys(quiet_hours).map((priority) => `notices.quiet_hours.${priority}`),
        ],
        file: configFile?.look() ?? null,
      };
    },
  );
}
