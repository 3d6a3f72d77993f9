import * as z from 'zod';

/** What reaches a person, when, and how often. */

const positive = z.number().positive();
const clockTime = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a time of day such as 22:00');

/** By the wall clock of the site's zone; the same time twice: no quiet hours. */
export const quietSchema = z.strictObject({ from: clockTime.default('22:00'), to: clockTime.default('07:00') });

export const noticesSchema = z.strictObject({
  today_at: clockTime
    .optional()
    .describe(
      'When the list of what is to do goes to the phone by itself, once a day, by the wall clock of the site, such as "07:30". Absent: only when somebody asks `today?`.',
    ),
  quiet_hours: z
    .strictObject({ medium: quietSchema.prefault({}), low: quietSchema.prefault({}) })
    .prefault({})
    .describe('A high alarm asks somebody to act now and has none; the others wait for a person who is awake.'),
  most_per_hour: z
    .int()
    .min(1)
    .max(1000)
    .default(12)
    .describe(
      'Above about 12 alarms an hour a person cannot follow them (ISA-18.2, from memory); a summary then sums up the rest.',
    ),
  group_seconds: z
    .strictObject({
      high: z.number().min(0).max(5).default(0),
      medium: z.number().min(0).max(600).default(10),
      low: z.number().min(0).max(3600).default(60),
    })
    .prefault({})
    .describe('A high alarm is sent at once. The others wait a moment: what ends within it is never sent.'),
  repeat_minutes: z
    .strictObject({
      high: positive.max(1440).default(15),
      medium: positive.max(1440).default(240),
      low: positive.max(1440).default(1440),
    })
    .prefault({})
    .describe(
      'First pause before an alarm that nobody acknowledges is sent again; it doubles, up to 16 times and at most a day.',
    ),
  silence_at_most_hours: z
    .strictObject({
      high: positive.max(168).default(12),
      medium: positive.max(168).default(72),
      low: positive.max(168).default(168),
    })
    .prefault({})
    .describe('For how long a person may silence an alarm; a high one, which asks to act now, only with a reason.'),
  escalate_after_minutes: positive
    .max(1440)
    .default(20)
    .describe('Long enough to wake up and look, short beside the hours that a tank without heater or air has.'),
});
