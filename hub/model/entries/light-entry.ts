import * as z from 'zod';

const common = {
  time: z.iso.datetime({ offset: true }).optional().describe('ISO 8601 with offset; now when absent'),
  by: z.string().min(1).max(60).optional(),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same entry'),
};

const hours = z.number().min(0).max(24);

export const lampSchema = z
  .strictObject({
    ...common,
    name: z
      .string()
      .min(1)
      .max(60)
      .describe('what you call the lamp; the same name again: the same lamp with new hours'),
    on_at: z
      .string()
      .regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a time such as 09:30')
      .describe('local time at which it starts to ramp up'),
    full_hours: hours,
    ramp_up_hours: hours.default(0),
    ramp_down_hours: hours.default(0),
  })
  .refine(({ full_hours, ramp_up_hours, ramp_down_hours }) => {
    const all = full_hours + ramp_up_hours + ramp_down_hours;
    return all > 0 && all <= 24;
  }, 'the hours together must be above 0 and at most 24');

export const parSchema = z.strictObject({
  ...common,
  places: z
    .array(z.strictObject({ height_cm: z.number().min(0).max(500), par: z.number().positive().max(5000) }))
    .min(1)
    .max(50)
    .describe('measured at full light, µmol/m²/s, at heights above the sand bed'),
});

export type LampEntry = z.infer<typeof lampSchema>;
export type ParEntry = z.infer<typeof parSchema>;
