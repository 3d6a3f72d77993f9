import * as z from 'zod';
import { kitApplySchema, kitCompareSchema, kitOpenSchema } from '../model/entries/kit-entry.ts';
import { byId } from './by-id.ts';

const tags = ['kits'];

const interval = { low: z.number(), high: z.number() };

const kitView = z.object({
  id: z.string(),
  name: z.string(),
  analyte: z.string(),
  unit: z.string().describe('of all values here'),
  lot: z.string().nullable(),
  resolution: z.number().nullable(),
  opened: z.string(),
  pairs: z.number().describe('tests of water whose value is known'),
  bias: z
    .object({ value: z.number(), sd: z.number(), ...interval })
    .nullable()
    .describe('by how much it reads too high, with its 95 % interval; null before it was compared with anything'),
  sd: z
    .object({ value: z.number(), ...interval })
    .nullable()
    .describe('of one test, with its 95 % interval; null with fewer than two pairs'),
  corrects_from: z.string().nullable().describe('tests from then on are corrected and weighted by it'),
  warnings: z.array(z.string()).describe('where a new lot disagrees with the one before'),
});

export type KitAnswer = z.infer<typeof kitView>;

export const kitApi = {
  'GET /api/kits': {
    summary: 'Every kit with its bias and its standard deviation, oldest first',
    tags,
    response: { 200: z.array(kitView) },
  },
  'POST /api/kits': {
    summary: 'Log a newly opened kit, or a new lot of one',
    tags,
    body: kitOpenSchema,
    response: { 201: kitView },
  },
  'POST /api/kits/:id/compare': {
    summary: 'Log what a kit read in a reference solution, or in water that was also titrated',
    tags,
    params: byId,
    body: kitCompareSchema,
    response: { 201: kitView },
  },
  'POST /api/kits/:id/apply': {
    summary: 'Correct the stored tests of a kit from a date on; what was typed stays beside it',
    tags,
    params: byId,
    body: kitApplySchema,
    response: { 200: z.object({ tests: z.number().describe('how many were corrected') }) },
  },
};
