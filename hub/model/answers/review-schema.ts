import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';

/** The figures of a week as the API answers them. Values in the metric's store unit, times UTC milliseconds. */

const figureSchema = z
  .union([z.object({ value: z.number() }), z.object({ absent: z.string().describe('why there is no number') })])
  .describe('a number, or the reason why there is none; never 0 in place of a number that is not known');

const timeMs = z.number().describe('UTC milliseconds');
const share = figureSchema.describe('0 to 1');
const place = { system: z.string(), systemName: z.string() };
const measure = {
  ...place,
  metric: z.enum(metrics),
  label: z.string(),
  unit: z.string(),
  decimals: z.number().int(),
};

const probeName = z.string().nullable().describe('null for the only probe without a name');

const hourSchema = z.object({ timeMs, min: z.number(), mean: z.number(), max: z.number() });

const bandReviewSchema = z.object({
  ...measure,
  probe: z.string(),
  name: probeName,
  band: z.object({ low: z.number(), high: z.number() }).nullable(),
  shareInBand: share.describe('of the minutes with a reading, those whose mean lies inside the band, edges included'),
  minutesHeard: z.number().int().describe('minutes of real time that lie in no gap'),
  minutesOutside: figureSchema.describe('the other share of the minutes heard'),
  shareHeard: share.describe('time that lies in no gap, of the week so far'),
  min: figureSchema,
  mean: figureSchema,
  max: figureSchema,
  hours: z.array(hourSchema).describe('oldest first, those with a reading'),
});

const swingReviewSchema = z.object({
  ...measure,
  probe: z.string(),
  name: probeName,
  largestOfDay: figureSchema.describe('greatest less least five-minute median of one local day'),
  onDate: z.string().nullable(),
  mostPerDay: figureSchema.describe('as the configuration allows it'),
  largestOfHour: figureSchema.describe('greatest less least five-minute median within 60 minutes'),
  hourFromMs: timeMs.nullable(),
  mostPerHour: figureSchema,
  days: z.array(z.object({ date: z.string(), swing: figureSchema })),
});

const demandReviewSchema = z.object({
  ...measure,
  perDay: figureSchema.describe('what the corals use in a day, at the end of the week'),
  low95: figureSchema,
  high95: figureSchema,
  change: figureSchema.describe('against the begin of the week'),
  dosedPerDay: figureSchema.describe('rise by doses, entered and by plan'),
  days: z
    .array(z.object({ timeMs, perDay: z.number(), low95: z.number(), high95: z.number() }))
    .describe('at each midnight of the week'),
});

const doseReviewSchema = z.object({
  ...place,
  what: z.string(),
  unit: z.enum(['mL', 'g', 'L']),
  times: z.number().int().describe('entered by a person or a machine'),
  entered: figureSchema,
  byPlan: figureSchema.describe('of the standing plan, which is taken as carried out'),
});

const testReviewSchema = z.object({
  ...measure,
  done: z.number().int(),
  expected: figureSchema,
  missing: figureSchema,
  outliers: figureSchema.describe('tests that the tests after them refuted'),
  inDoubt: figureSchema.describe('tests that wait for the next test to decide'),
  uncertainty: figureSchema.describe('standard uncertainty of one test'),
  uncertaintyBy: z.enum(['stated', 'learned', 'none']),
  shareInBand: share,
  band: z.object({ low: z.number(), high: z.number() }).nullable(),
  lastMs: timeMs.nullable(),
  tests: z.array(
    z.object({
      timeMs,
      value: z.number(),
      sd: z.number().nullable(),
      valueAt35: z
        .number()
        .nullable()
        .describe('at salinity 35; null where it does not move with the salt, or no salinity is known'),
      verdict: z.enum(['sound', 'refuted', 'in_doubt', 'not_judged']),
    }),
  ),
});

const alarmReviewSchema = z.object({
  raised: figureSchema.describe('alarms raised or raised again'),
  perDay: figureSchema,
  byPriority: z.object({ high: figureSchema, medium: figureSchema, low: figureSchema }),
  timeInAlarm: share.describe('of the week, with at least one alarm that stands'),
  standingMs: figureSchema,
  longestMs: figureSchema,
  longest: z.string().nullable(),
  longestStands: z.boolean(),
  chattering: z.array(z.string()),
  mostFrequent: z.array(z.object({ alarm: z.string(), words: z.string(), raised: z.number().int() })),
  perDate: z.array(z.object({ date: z.string(), raised: figureSchema })),
});

const coralReviewSchema = z.object({
  arrived: z.number().int(),
  pieces: z.number().int().describe('pieces that came with them, as they were noted'),
  lost: z.number().int(),
  byCause: z.array(z.object({ cause: z.string(), lost: z.number().int() })),
  kept: figureSchema.describe('pieces in the register that are not lost, at the end of the week'),
  arrivals: z.array(z.object({ timeMs, ...place, name: z.string(), words: z.string() })),
  losses: z.array(z.object({ timeMs, ...place, name: z.string(), words: z.string() })),
});

const probeReviewSchema = z.object({
  ...measure,
  probe: z.string(),
  name: probeName,
  gaps: figureSchema,
  longestGapMs: figureSchema,
  silentMs: figureSchema.describe('sum of the gaps'),
  failed: figureSchema.describe('readings that failed a check and count for nothing'),
  calibrationAgeDays: figureSchema,
  calibrateEveryDays: figureSchema,
  flatLines: figureSchema.describe('alarms of the rule flat_line'),
  longestSameMs: figureSchema.describe('the longest time on one number'),
});

const eventSchema = z.object({ timeMs, systemName: z.string(), words: z.string() });

export const toDoKinds = ['band', 'probe', 'alarm', 'advice', 'test', 'calibration', 'container', 'pest'] as const;

const toDoSchema = z.object({
  kind: z.enum(toDoKinds),
  ...place,
  what: z.string(),
  short: z.string().describe('the same for a phone'),
  reason: z.string(),
});

export const reviewSchema = z.object({
  week: z.string(),
  site: z.string(),
  timezone: z.string(),
  isInvented: z.boolean(),
  fromMs: timeMs,
  toMs: timeMs.describe('exclusive'),
  asOfMs: timeMs.describe('the end of the week, or now while it runs'),
  isOver: z.boolean(),
  hours: z.number().describe('length of the whole week: 167 to 169 where the clocks change'),
  line: z.string().describe('the result in one line'),
  bandsKept: share.describe('time inside of all time heard, over all probes of a metric with a band'),
  bands: z.array(bandReviewSchema),
  swings: z.array(swingReviewSchema),
  demand: z.array(demandReviewSchema),
  doses: z.array(doseReviewSchema),
  tests: z.array(testReviewSchema),
  alarms: alarmReviewSchema,
  corals: coralReviewSchema,
  probes: z.array(probeReviewSchema),
  happened: z.array(eventSchema),
  changed: z.array(eventSchema),
  toDo: z.array(toDoSchema),
});

export type ReviewFigures = z.infer<typeof reviewSchema>;
export type BandReview = ReviewFigures['bands'][number];
export type SwingReview = ReviewFigures['swings'][number];
export type DemandReview = ReviewFigures['demand'][number];
export type DoseReview = ReviewFigures['doses'][number];
export type TestReview = ReviewFigures['tests'][number];
export type AlarmReview = ReviewFigures['alarms'];
export type CoralReview = ReviewFigures['corals'];
export type ProbeReview = ReviewFigures['probes'][number];
export type ReviewEvent = ReviewFigures['happened'][number];
export type ToDo = ReviewFigures['toDo'][number];
