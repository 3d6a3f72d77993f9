import * as z from 'zod';
import {
  type Advice,
  holdBackRules,
  type PathPoint,
  type Predicted,
  type WaterSteps,
} from '#rules/dosing/advice-types.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate, TestVerdict } from '#rules/trend/demand-filter.ts';
import type { HistoryPoint } from '#rules/trend/demand-history.ts';
import type { Forecast, ForecastPoint } from '#rules/trend/forecast.ts';
import { declineReasons } from '../model/journal/reasons.ts';
import { timeMs } from './series.ts';

const tags = ['advice'];

export const adviceAnalyte = z.enum([...demandAnalytes, 'salinity']);

const ofProduct = {
  product: z.object({ id: z.string(), name: z.string() }).optional().describe('absent when none is named'),
};

const unit = z.enum(['mL', 'g']);
const amountPerDay = z.number().optional().describe('absent without a product');

const dailyDose = {
  risePerDay: z.number(),
  amountPerDay,
  unit: unit.optional(),
  dosesPerDay: z.number(),
  largestDose: z.number().optional(),
  largestRise: z.number(),
  hoursApart: z.number(),
  ...ofProduct,
};

const planChange = z.object({ ...dailyDose, before: z.object({ risePerDay: z.number(), amountPerDay }) });

const resumption = z.object({
  ...ofProduct,
  atMs: timeMs,
  risePerDay: z.number(),
  amountPerDay,
  unit: unit.optional(),
});

const waterSteps = z.object({
  do: z.enum([
    'top_off_fresh',
    'exchange_for_fresh',
    'top_off_with_salt_water',
    'exchange_for_saltier',
    'salt_into_drawn_off',
  ] as const satisfies WaterSteps['do'][]),
  litresOnDay: z.array(z.number()).describe('the first today'),
  newSalinity: z.number().describe('of the water that goes in; 0 for fresh'),
  saltGramsOnDay: z.array(z.number()).optional(),
  changeOnDay: z.array(z.number()),
  totalChange: z.number(),
} satisfies Record<keyof WaterSteps, z.ZodType>);

const sideEffect = z.object({
  metric: z.enum([...demandAnalytes, 'salinity']),
  perDay: z.number(),
  text: z.string(),
});

const pathPoint = z.object({
  timeMs,
  level: z.number(),
  low95: z.number(),
  high95: z.number(),
} satisfies Record<keyof PathPoint, z.ZodType>);

const predicted = z.object({
  withAdvice: z.array(pathPoint),
  withoutAdvice: z.array(pathPoint),
  chanceToLeaveWith: z.number().describe('to be outside the band within the week'),
  chanceToLeaveWithout: z.number(),
  leavesWithoutAdviceAtMs: timeMs.optional(),
  leavesWithAdviceAtMs: timeMs.optional(),
  phBefore: z.number().optional(),
  phAfterLargestDose: z.number().optional().describe('total scale, before any gas exchange: the limit'),
  phForecast: z
    .array(z.object({ hours: z.number(), likely: z.number(), low95: z.number(), high95: z.number() }))
    .optional()
    .describe('total scale, by the gas exchange of this tank; absent while that is not known'),
  nightPh: z
    .object({ before: z.number(), after: z.number(), low95: z.number().optional(), high95: z.number().optional() })
    .optional()
    .describe('total scale, lowest of the day: as it is, and with the advised flow of a reactor once it has settled'),
  sideEffects: z.array(sideEffect).describe('of a day of the advised doses'),
} satisfies Record<keyof Predicted, z.ZodType>);

export const advice = z.object({
  kind: z.enum(['dose', 'hold_back', 'nothing', 'wait']),
  analyte: adviceAnalyte,
  reason: z.string().describe('what to do and why'),
  plan: z.array(planChange).describe('stocks whose daily amount changes'),
  today: z.array(z.object(dailyDose)).describe('on top of the plan'),
  dosingNow: z.enum(['leave', 'lower', 'stop']),
  resume: resumption.optional(),
  water: waterSteps.optional().describe('for salinity alone'),
  predicted: predicted.optional().describe('absent when nothing is known of the level'),
  cautions: z.array(z.string()),
  sure: z.object({
    word: z.enum(['well', 'fairly', 'barely']),
    text: z.string(),
    levelWithin: z.number().optional().describe('half the width of the 95 % interval'),
    demandWithin: z.number().optional(),
  }),
  retestAtMs: timeMs,
  holdBacks: z.array(z.object({ rule: z.enum(holdBackRules), text: z.string() })),
  working: z.array(z.string()).describe('line by line, with the numbers'),
} satisfies Record<keyof Advice, z.ZodType>);

/** Without its paths of a week, which no view of the room draws and which were a third of its weight. */
export const adviceView = advice.extend({
  predicted: predicted.omit({ withAdvice: true, withoutAdvice: true }).optional(),
});

export const declineReason = z.enum(declineReasons);

export type DeclineReason = z.infer<typeof declineReason>;

const adviceOn = {
  system: z.string().min(1).max(40).describe('id of the system'),
  analyte: adviceAnalyte,
  by: z.string().min(1).max(60).default('page'),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same entry'),
};

const declined = z
  .strictObject({ ...adviceOn, reason: declineReason, note: z.string().trim().min(1).max(500).optional() })
  .refine(({ reason, note }) => reason !== 'other' || note !== undefined, 'another reason goes with a note');

const kept = { 201: z.object({ id: z.number().describe('of the entry') }) };

const estimate = z.object({
  timeMs,
  level: z.number(),
  levelSd: z.number(),
  demandPerDay: z.number().describe('loss of a whole day'),
  demandSd: z.number(),
  levelDemandCovariance: z.number(),
  suspect: z.boolean().describe('the last test stands alone against what was known'),
  learnedTestSd: z.number(),
  learnedGrowthSd: z.number(),
  growthShare: z.number().optional(),
  growthShareSd: z.number().optional(),
  testsUsed: z.number(),
} satisfies Record<keyof DemandEstimate, z.ZodType>);

const weighedTest = z.object({
  ...({
    timeMs,
    value: z.number(),
    chancePlain: z.number().describe('that it is neither outlying nor the first sign of a change'),
    isSuspect: z.boolean(),
    earlierSuspect: z
      .object({ timeMs, value: z.number(), verdict: z.enum(['confirmed', 'refuted']) })
      .optional()
      .describe('the suspect one before it, which this one decided'),
    innovation: z.number().describe('test minus what was expected of it'),
    innovationSd: z.number(),
  } satisfies Record<keyof TestVerdict, z.ZodType>),
  dosedBefore: z.number().describe('rise by all doses since the test before'),
  valueAt35: z
    .number()
    .optional()
    .describe('the value at salinity 35; absent where nobody measured the salinity of that day'),
  after: estimate.pick({ level: true, levelSd: true, demandPerDay: true, demandSd: true }),
  words: z.string(),
});

const historyPoint = z.object({
  timeMs,
  level: z.number(),
  levelSd: z.number(),
  demandPerDay: z.number(),
  demandSd: z.number(),
  test: z.object({ value: z.number(), isUsed: z.boolean() }).optional().describe('absent between tests'),
} satisfies Record<keyof HistoryPoint, z.ZodType>);

const forecast = z.object({
  points: z.array(
    pathPoint.extend({ chanceBelow: z.number(), chanceAbove: z.number() } satisfies Record<
      Exclude<keyof ForecastPoint, keyof PathPoint>,
      z.ZodType
    >),
  ),
  chanceToLeave: z.number(),
  leavesAtMs: timeMs.optional(),
  mayLeaveAtMs: timeMs.optional(),
  leavesBy: z.enum(['low', 'high']).optional(),
} satisfies Record<keyof Forecast, z.ZodType>);

const explanation = z.object({
  analyte: z.enum(demandAnalytes),
  estimate: estimate.nullable(),
  tests: z.array(weighedTest),
  history: z.array(historyPoint).describe('the past as it looks from today'),
  forecast: forecast.nullable().describe('the week to come under the dosing of today'),
});

const container = z.object({ stock: z.string(), leftMl: z.number(), daysLeft: z.number().nullable() });

export const adviceApi = {
  'GET /api/advice/:system': {
    summary: 'Suggested doses with their reasons',
    tags,
    params: z.object({ system: z.string() }),
    response: { 200: z.array(z.object({ analyte: adviceAnalyte, advice })) },
  },
  'POST /api/advice/decline': {
    summary: 'Say why advice is not followed; it is folded away until the advice changes',
    tags,
    body: declined,
    response: kept,
  },
  'POST /api/advice/resume': {
    summary: 'Show declined advice again',
    tags,
    body: z.strictObject(adviceOn),
    response: kept,
  },
  'GET /api/estimates/:system/:analyte': {
    summary: 'Level, demand and the week to come, with every test, its weight and the doses between in plain words',
    tags,
    params: z.object({ system: z.string(), analyte: z.enum(demandAnalytes) }),
    response: { 200: explanation },
  },
  'GET /api/containers/:system': {
    summary: 'How full the containers are and how many days they last',
    tags,
    params: z.object({ system: z.string() }),
    response: { 200: z.array(container) },
  },
};
