import * as z from 'zod';

/**
 * Other hubs on the same broker that this one shows. A level of a prefix may be `+`, for any name; the hubs' own topics
 * follow it, so `#` has no place here.
 */
export const fleetSchema = z.strictObject({
  prefixes: z
    .array(
      z
        .string()
        .min(1)
        .max(200)
        .regex(
          /^(?:\+|[^+#\0/$][^+#\0/]*)(?:\/(?:\+|[^+#\0/]+))*$/,
          'the mqtt prefix of other hubs, such as farm/hub-07, or farm/+ for all below farm',
        ),
    )
    .min(1)
    .max(500)
    .describe('The `mqtt.prefix` of each other hub, such as farm/hub-07; + stands for any one level.'),
  most_hubs: z.int().min(1).max(2000).default(500).describe('Further hubs are counted and not shown.'),
  silent_after_minutes: z
    .number()
    .min(2)
    .max(1440)
    .default(3)
    .describe('Without a heartbeat for so long nobody watches there. Hubs beat once a minute, and two may be lost.'),
});
