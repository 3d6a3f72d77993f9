import * as z from 'zod';

/** Equal lines are bounded: ten a minute, then a count. `--log-level` of the command line goes before. */
export const logSchema = z.strictObject({ level: z.enum(['error', 'warn', 'info', 'debug']).default('info') });
