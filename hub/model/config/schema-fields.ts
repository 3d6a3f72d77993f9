import * as z from 'zod';

/** What the keeper calls a system, a stock, a probe or a port in the file. */
export const idSchema = z
  .string()
  .regex(
    /^[a-z0-9][a-z0-9_-]{0,39}$/,
    'small letters, digits, - and _, starting with a letter or digit, at most 40 characters',
  );

export const positive = z.number().positive();
