import * as z from 'zod';
import type { JournalKind } from '#adapters/ports/store.ts';
import { flags } from '#rules/quality/reading.ts';
import { metrics } from '#rules/quantity/metric.ts';

const tags = ['room'];

const span = { from: z.iso.datetime({ offset: true }), to: z.iso.datetime({ offset: true }) };

const systemMetric = z.object({ system: z.string(), metric: z.enum(metrics) });

export const timeMs = z.number().describe('UTC milliseconds');

export const plotPoint = z.object({
  time: timeMs.describe('start of the interval, UTC milliseconds'),
  min: z.number(),
  max: z.number(),
  doubtful: z.literal(true).optional().describe('a reading in it was suspect or failed'),
});

/** Least and greatest value of an interval. */
export type PlotPoint = z.infer<typeof plotPoint>;

const series = z.object({
  probe: z.string(),
  stepMs: z.number().describe('width of an interval'),
  points: z.array(plotPoint),
});

/** Single readings beyond this are a smear on a screen, and a wide span of them is long to read. */
export const mostReadings = 6000;

const singles = z.object({
  probe: z.string(),
  most: z.number(),
  isTooMany: z.boolean().describe('the span holds more than are given, or is too wide'),
  readings: z.array(z.object({ time: timeMs, value: z.number(), flag: z.enum(flags) })),
});

/** Readings as they are kept; a failed one with its raw number. */
export type Singles = z.infer<typeof singles>;

const edge = z.number().nullable();

const bandSpan = z.object({ from: timeMs, to: timeMs, low: edge, high: edge });

/** A band as it was over a span of time; null edges where there was none. */
export type BandSpan = z.infer<typeof bandSpan>;

export const markKinds = [
  'test',
  'dose',
  'water_change',
  'calibration',
  'arrival',
  'plan',
  'alarm',
] as const satisfies JournalKind[];

const mark = z.object({
  id: z.number(),
  time: timeMs,
  kind: z.enum(markKinds),
  metric: z.string().nullable().describe('that it is about; null for what touches the whole system'),
  value: z.number().optional().describe('in the store unit'),
  sd: z.number().optional(),
  text: z.string(),
});

/** Something that happened at a moment, to be marked on a chart. */
export type Mark = z.infer<typeof mark>;

export const seriesApi = {
  'GET /api/series/:system/:metric': {
    summary: 'A metric over time, as the lowest and highest value of each of about `points` intervals',
    tags,
    params: systemMetric,
    querystring: z.object({
      ...span,
      points: z.coerce.number().int().min(10).max(4000).default(400),
      probe: z.string().optional(),
    }),
    response: { 200: series },
  },
  'GET /api/readings/:system/:metric': {
    summary: `Single readings with their flags, when there are at most ${mostReadings} of them in at most three days; else none, and why`,
    tags,
    params: systemMetric,
    querystring: z.object({ ...span, probe: z.string().optional() }),
    response: { 200: singles },
  },
  'GET /api/bands/:system/:metric': {
    summary: 'The band of a metric as it was over a span of time; null edges where there was none',
    tags,
    params: systemMetric,
    querystring: z.object(span),
    response: { 200: z.array(bandSpan) },
  },
  'GET /api/marks/:system': {
    summary: 'What happened to a system in a span of time: tests, doses, water changes, calibrations, arrivals, alarms',
    tags,
    params: z.object({ system: z.string() }),
    querystring: z.object(span),
    response: { 200: z.array(mark) },
  },
};
