import * as z from 'zod';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';

const litres = {
  litres: z.number().describe('of water, by doses and tests'),
  low95_l: z.number(),
  high95_l: z.number(),
  is_learned: z.boolean().describe('false while the doses are too even, or the tests too few'),
};

const volume = z.object({
  stated_l: z.number().describe('volume_l of the configuration'),
  learned: z.object(litres).nullable().describe('by all analytes together; null without enough tests of any'),
  by_analyte: z.array(z.object({ analyte: z.enum(demandAnalytes), ...litres, tests: z.number() })),
  is_off: z.boolean().describe('the stated volume lies outside the 95 % interval'),
  text: z.string(),
});

export type VolumeView = z.output<typeof volume>;

export const volumeApi = {
  'GET /api/volume/:system': {
    summary: 'The water volume learned from doses and tests, beside the stated one',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: volume },
  },
};
