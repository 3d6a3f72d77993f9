import * as z from 'zod';

export const clockSchema = z.strictObject({
  trust: z
    .enum(['auto', 'always'])
    .default('auto')
    .describe(
      "`auto`: the machine's clock is believed when it is not before the last stored moment nor before the build, or when the operating system says that it was set. `always`: a person vouches for it, say after a store was once dated ahead.",
    ),
});
