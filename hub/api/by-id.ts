import * as z from 'zod';

/** The `:id` of an address: a1, b1, k1, p1, or that of a probe. */
export const byId = z.object({ id: z.string().min(1).max(40) });
