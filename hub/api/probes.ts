import * as z from 'zod';
import { kclStandards } from '#rules/seawater/conductivity-standard.ts';
import { primaryBuffers } from '#rules/seawater/ph-buffer.ts';
import { verdictSchema } from '../model/journal/calibration-schema.ts';
import { byId } from './by-id.ts';
import { metricFactsFields } from './metric-facts.ts';

const tags = ['probes'];

/** Values are in the metric's store unit, times UTC milliseconds. */
const probeView = z.object({
  id: z.string(),
  name: z
    .string()
    .nullable()
    .describe('its name; its id where it has none and another measures the same; null for the only one without a name'),
  system: z.string(),
  systemName: z.string(),
  ...metricFactsFields,
  value: z.number().nullable(),
  flag: z.string(),
  why: z.string().nullable(),
  time: z.number().nullable(),
  silentAfterMs: z
    .number()
    .nullable()
    .describe('how long without a reading before it counts as silent; null where none is expected'),
  calibration: z.object({ id: z.number(), time: z.number(), verdict: verdictSchema }).nullable(),
  configuredOn: z.string().nullable().describe('by the configuration, where nobody calibrated it here: `2026-01-05`'),
  maintenanceUntil: z.number().nullable().describe('no alarms until then: somebody is working on it'),
});

const steadinessView = z.object({
  state: z.enum(['steady', 'moving', 'too_few', 'silent']),
  readings: z.number().describe('that were looked at: the newest that cover half a minute'),
  overMs: z.number(),
  spread: z
    .number()
    .nullable()
    .describe("greatest less least in the metric's store unit; null while too few are there"),
  limit: z.number().nullable().describe('how much is allowed'),
});

const probeDetail = probeView.extend({
  way: z
    .enum(['ph', 'cell', 'linear'])
    .describe('how it is calibrated: in buffers, in a conductivity standard, or beside a reference'),
  wire: z
    .object({ value: z.number(), unit: z.string(), time: z.number() })
    .nullable()
    .describe('the last number on the wire before any correction'),
  signal: z.enum(['ph', 'mV']).nullable().describe('of an electrode: the pH that a meter shows, or its potential'),
  compensation: z.number().nullable().describe('of a display that is referred to 25 °C: its coefficient, % per °C'),
  steadiness: steadinessView,
});

/** What lies outside of a table is null. */
const standardsView = z.object({
  temperature_C: z.number(),
  buffers: z.array(z.object({ id: z.enum(primaryBuffers), ph: z.number().nullable() })),
  conductivity: z.array(z.object({ id: z.enum(kclStandards), mS_cm: z.number().nullable() })),
  seawater: z.object({ salinity: z.number(), mS_cm: z.number().nullable() }),
});

export type ProbeView = z.infer<typeof probeView>;

export type ProbeDetail = z.infer<typeof probeDetail>;

export type StandardsView = z.infer<typeof standardsView>;

export const probeApi = {
  'GET /api/probes': {
    summary: 'Every probe with its value, its last calibration and the verdict on it',
    tags,
    response: { 200: z.array(probeView) },
  },
  'GET /api/probes/:id': {
    summary: 'One probe while it is calibrated: what is on the wire, and whether it has settled',
    tags,
    params: byId,
    response: { 200: probeDetail },
  },
  'GET /api/calibration-standards': {
    summary: 'What pH buffers, conductivity standards and seawater are at a temperature',
    tags,
    querystring: z.object({
      temperature_C: z.coerce.number<number>().min(-5).max(60),
      salinity: z.coerce.number<number>().min(0).max(100).default(35),
    }),
    response: { 200: standardsView },
  },
};
