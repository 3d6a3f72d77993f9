import * as z from 'zod';
import { analytes, metrics } from '#rules/quantity/metric.ts';

/**
 * Changes of the configuration file that the page may make. The list of what may be changed is closed: secrets, brokers,
 * ports, access and paths are not in it.
 */

const id = '([a-z0-9][a-z0-9_-]{0,39})';
const metric = `(${metrics.join('|')})`;
const analyte = `(${analytes.join('|')})`;

const changeable: readonly RegExp[] = [
  `systems\\.${id}\\.(name|volume_l)`,
  `systems\\.${id}\\.bands\\.${metric}\\.(low|high|most_per_hour|most_per_day)`,
  `systems\\.${id}\\.test_every_days\\.${analyte}`,
  `systems\\.${id}\\.stocks\\.${id}\\.(name|grams_per_litre|raises_100_l_by_per_ml|container_ml)`,
  `probes\\.${id}\\.name`,
  'notices\\.quiet_hours\\.(medium|low)\\.(from|to)',
].map((pattern) => new RegExp(`^${pattern}$`));

export const configChangeSchema = z.strictObject({
  path: z
    .string()
    .max(200)
    .refine((path) => changeable.some((each) => each.test(path)), 'a key that the page may change')
    .describe('e.g. systems.display.bands.alkalinity.high; entries of a list by their id'),
  value: z.union([z.number(), z.string().max(80), z.null()]).describe('null takes the key out'),
});

export type ConfigChange = z.infer<typeof configChangeSchema>;
