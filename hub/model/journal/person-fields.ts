import * as z from 'zod';

/** What every entry may say of the person. */
export const ofPerson = {
  by: z.string().optional(),
  note: z.string().optional(),
  /** Who took the entry back, in the entry that does so. */
  withdrawn_by: z.string().optional(),
};
