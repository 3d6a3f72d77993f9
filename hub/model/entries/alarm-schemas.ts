import * as z from 'zod';

/** In the words of whoever asks for it. */
export const why = z.string().trim().min(1).max(200).optional();
export const alarmId = z.string().min(1).max(200);
