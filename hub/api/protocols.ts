import * as z from 'zod';

const tags = ['arrivals'];

const reagent = z.object({
  name: z.string(),
  dose_mL_L: z.number(),
  label: z.object({ low_mL_L: z.number(), high_mL_L: z.number() }).optional(),
});

const protocolStep = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('float'), minutes: z.number() }),
  z.object({ kind: z.literal('acclimate'), minutes: z.number() }),
  z.object({ kind: z.literal('dip_bath'), tankShare: z.number(), reagents: z.array(reagent).readonly() }),
  z.object({ kind: z.literal('soak'), minutes: z.number(), mostMinutes: z.number().optional() }),
  z.object({ kind: z.literal('swirl_and_rinse_off') }),
  z.object({ kind: z.literal('rinse_bath'), minutes: z.number().optional() }),
  z.object({ kind: z.literal('new_plug') }),
  z.object({ kind: z.literal('inspection') }),
  z.object({ kind: z.literal('placement') }),
]);

const protocolsView = z.object({
  protocols: z.array(
    z.object({ id: z.string(), name: z.string(), steps: z.array(protocolStep).readonly(), may_be_run: z.boolean() }),
  ),
  problems: z.array(z.string()).describe('of files that were left out'),
  cautions: z.array(z.string()),
  emergency: z.string(),
});

const pestsView = z.object({
  pests: z.array(z.object({ id: z.string(), label: z.string(), look_for: z.string(), source: z.string() })),
  problems: z.array(z.string()).describe("of the keeper's file, when it was left out"),
});

export type ProtocolsAnswer = z.infer<typeof protocolsView>;

/** What checklists and watches are made of: ours, and the keeper's files. */
export const protocolApi = {
  'GET /api/protocols': {
    summary: 'Protocols, and what is wrong with files that were left out',
    tags,
    response: { 200: protocolsView },
  },
  'GET /api/pests': {
    summary: "Pests that can be watched for, ours and those of the keeper's file",
    tags,
    response: { 200: pestsView },
  },
};
