import * as z from 'zod';
import { configChangeSchema } from '../model/settings/config-change-schema.ts';

const tags = ['settings'];

const field = z.object({
  path: z.string().describe('as a change names it'),
  label: z.string(),
  unit: z.string(),
  kind: z.enum(['number', 'text', 'time']),
  value: z.union([z.number(), z.string()]).nullable().describe('null where the file does not say it'),
});

const editable = z.object({
  seen: z.string().describe('sign of the file as it is now; a change names it'),
  groups: z.array(
    z.object({ title: z.string(), parts: z.array(z.object({ title: z.string(), fields: z.array(field) })) }),
  ),
  last_change: z.object({ time: z.string(), by: z.string() }).nullable().describe('that can be gone back from'),
  starts_again: z.boolean().describe('true where the hub starts again by itself after a change'),
});

const configurationView = z.object({
  path: z.string().nullable().describe('null where the hub was started without a file, as in the demo'),
  text: z.string().describe('what is in force, with every default, as YAML; secrets are never shown'),
  chosen_in_page: z.array(z.string()).describe('keys whose value was chosen on the page and overrides the file'),
  file: z
    .object({
      state: z.enum(['as_started', 'changed', 'unreadable']),
      problems: z.array(z.object({ line: z.number(), column: z.number(), path: z.string(), text: z.string() })),
      warnings: z.array(z.string()),
    })
    .nullable(),
  editable: editable
    .nullable()
    .describe('what the page may change in the file; null without one, or with mistakes in it'),
});

/** What the page of the configuration shows. */
export type ConfigurationView = z.infer<typeof configurationView>;
export type EditableField = z.infer<typeof field>;

const changesBody = {
  changes: z.array(configChangeSchema).min(1).max(60),
  seen: z.string().length(64),
};
const by = z.string().min(1).max(60).default('page');
const differenceView = z.object({
  difference: z.array(z.object({ is: z.enum(['out', 'in']), line: z.number(), text: z.string() })),
  warnings: z.array(z.string()),
});
export type DifferenceView = z.infer<typeof differenceView>;

/** Done and written; the answer is empty. */
const done = { 204: z.null() };

export const configurationApi = {
  'GET /api/configuration': {
    summary: 'The configuration in force, what is wrong with its file as it is now, and what of it the page may change',
    tags,
    response: { 200: configurationView },
  },
  'POST /api/configuration/preview': {
    summary: 'What a change would make of the file, checked in whole; nothing is written',
    tags,
    body: z.strictObject(changesBody),
    response: { 200: differenceView },
  },
  'POST /api/configuration/change': {
    summary: 'Write a checked change into the file, which keeps its comments; 409 when the file was changed meanwhile',
    tags,
    body: z.strictObject({ ...changesBody, by }),
    response: done,
  },
  'POST /api/configuration/back': {
    summary: 'Write back what the file said before the last change on the page',
    tags,
    body: z.strictObject({ seen: changesBody.seen, by }),
    response: done,
  },
};
