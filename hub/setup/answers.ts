import { IANAZone } from 'luxon';
import * as z from 'zod';
import { livestock } from './stock-bands.ts';

/** What a person is asked, as a file or as flags. An answer that is given is not asked for. */
export const answersSchema = z.strictObject({
  site_name: z.string().min(1).max(60).optional(),
  timezone: z
    .string()
    .refine((zone) => IANAZone.isValidZone(zone), 'an IANA zone such as Europe/Lisbon')
    .optional(),
  /** An id of the configuration to which probes are added. */
  system: z.string().min(1).optional(),
  system_name: z.string().min(1).max(60).optional(),
  volume_l: z.number().min(1).max(1_000_000).optional(),
  livestock: z.enum(livestock).optional(),
  /** Serial ports to listen at; all when absent. */
  ports: z.array(z.string().min(1)).max(100).optional(),
  /** An outside broker; empty: the hub's own. */
  broker_url: z
    .string()
    .regex(/^(|(mqtts?|wss?):\/\/\S+)$/, 'a URL such as mqtt://192.0.2.7:1883, or nothing')
    .optional(),
  broker_username: z.string().min(1).optional(),
  broker_password_file: z.string().min(1).optional(),
  broker_ca_file: z.string().min(1).optional(),
  /** Beginnings of topics at an outside broker that belong to this tank; nobody else's are taken. */
  broker_topics: z.array(z.string().min(1)).max(100).optional(),
  /** Which of the probes found are taken without a question. */
  probes: z.enum(['named', 'all', 'none']).optional(),
  http_port: z.int().min(1).max(65_535).optional(),
  broker_port: z.int().min(1).max(65_535).optional(),
});

export type Answers = z.infer<typeof answersSchema>;

/** One sentence for each answer that will not do. */
export function problemsOfAnswers(error: z.ZodError): string[] {
  return error.issues.map(({ path, message }) => `${path.join('.') || 'answers'}: ${message}`);
}

/** `Display tank 2` becomes `display-tank-2`, and `Display tank` the `display` that the pages of the documents speak of. */
export function idFromName(name: string): string {
  const id = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/\p{M}/gu, '')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .replace(/-tank$/, '')
    .slice(0, 24)
    .replace(/-+$/, '');
  return id === '' ? 'tank' : id;
}
