import { z } from 'zod';

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
    .max(500),
  /** Further hubs are counted and not shown. */
  most_hubs: z.int().min(1).max(2000).default(500),
  /** Hubs beat once a minute: two beats may be lost on the way. */
  silent_after_minutes: z.number().min(2).max(1440).default(3),
});
