import * as z from 'zod';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import type { Config } from '../../model/config/schema.ts';
import { hubName } from './hub-name.ts';

const band = z.object({ low: z.number(), high: z.number() });

/** Who a hub is, as it says itself: names for people, and the bands in which its water should stay, in store units. */
export const aboutSchema = z.object({
  site: z.string().max(60).describe('its name for people'),
  timezone: z.string().max(60).describe('IANA zone'),
  hub: z.string().max(200).describe('the tag `hub` of its points in a time-series database'),
  systems: z
    .array(
      z.object({
        id: z.string().max(40),
        name: z.string().max(60),
        bands: z.partialRecord(z.enum(metrics), band).describe('by metric, in the units of the store'),
      }),
    )
    .max(500),
});

export type About = z.infer<typeof aboutSchema>;

export function aboutHub(config: Config): About {
  return {
    site: config.site.name,
    timezone: config.site.timezone,
    hub: hubName(config),
    systems: config.systems.map(({ id, name, bands }) => ({
      id,
      name,
      bands: Object.fromEntries(
        Object.entries(bands).flatMap(([metric, edges]) =>
          edges === undefined ? [] : [[metric as Metric, { low: edges.low, high: edges.high }]],
        ),
      ),
    })),
  };
}
