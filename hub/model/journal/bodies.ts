import * as z from 'zod';
import type { JournalKind } from '#adapters/ports/store.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { analytes, metricFacts } from '#rules/quantity/metric.ts';
import { specificGravityPairs } from '#rules/seawater/specific-gravity.ts';
import { correctionSchema, verdictSchema } from './calibration-schema.ts';
import { arrival, piece } from './coral-bodies.ts';
import { ofPerson } from './person-fields.ts';
import { declineReasons } from './reasons.ts';
import { titrationRecordSchema } from './titration-record.ts';

export type SgScale = keyof typeof specificGravityPairs;
export const sgScales = Object.keys(specificGravityPairs) as [SgScale, ...SgScale[]];

const test = z.object({
  ...ofPerson,
  analyte: z.enum(analytes),
  /** In the store unit of the analyte, as is `sd`. */
  value: z.number(),
  sd: z.number().optional(),
  /** As it was typed. */
  given_value: z.number(),
  given_unit: z.string(),
  /** Of a salinity read as a specific gravity: the two temperatures on the scale, and that of the water. */
  sg_scale: z.enum(sgScales).optional(),
  water_temperature_c: z.number().optional(),
  /** The whole run, of one that the hub has guided. */
  titration: titrationRecordSchema.optional(),
  /** The kit that it was done with, and what was taken off what it read. `stated_sd`: as the person gave it. */
  kit: z.object({ id: z.string(), bias: z.number(), bias_sd: z.number(), stated_sd: z.number().optional() }).optional(),
});

/** Of a stock so many millilitres, or of a substance so many grams. */
const dose = z.object({
  ...ofPerson,
  stock: z.string().optional(),
  ml: z.number().optional(),
  substance: z.string().optional(),
  grams: z.number().optional(),
});

const waterChange = z.object({
  ...ofPerson,
  volume_l: z.number(),
  /** Of the new water. */
  alkalinity_dkh: z.number().optional(),
  calcium_mg_l: z.number().optional(),
  magnesium_mg_l: z.number().optional(),
  salinity: z.number().optional(),
});

const plan = z.object({
  ...ofPerson,
  stock: z.string(),
  ml_per_day: z.number(),
  times_per_day: z.number().optional(),
  /** Back to what the configuration says, whatever `ml_per_day` is. */
  configured: z.literal(true).optional(),
});

const refill = z.object({ ...ofPerson, stock: z.string(), ml: z.number().optional() });

const calibration = z.object({
  probe: z.string(),
  metric: z.string(),
  kind: z.enum(['linear', 'cell', 'ph']),
  by: z.string(),
  withdrawn_by: z.string().optional(),
  why: z.string(),
  correction: correctionSchema,
  verdict: verdictSchema,
  /** As it was handed in. */
  given: z.record(z.string(), z.unknown()),
});

const measuredWater = {
  temperature: z.number().optional(),
  salinity: z.number().optional(),
  alkalinity: z.number().optional(),
  calcium: z.number().optional(),
  magnesium: z.number().optional(),
  nitrate: z.number().optional(),
  phosphate: z.number().optional(),
  potassium: z.number().optional(),
  iodide: z.number().optional(),
};

const ofBatch = { ...ofPerson, batch: z.string() };

const batch = z.discriminatedUnion('event', [
  z.object({
    ...ofBatch,
    event: z.literal('made'),
    litres: z.number(),
    salt: z.string(),
    salt_g: z.number(),
    arrival: z.string().optional(),
    probes_of: z.string().optional(),
  }),
  z.object({ ...ofBatch, event: z.literal('measured'), ...measuredWater, salinity_sd: z.number().optional() }),
  z.object({
    ...ofBatch,
    event: z.literal('used'),
    litres: z.number(),
    for: z.string().optional(),
    /** Id of the entry of the water change that it went into. */
    water_change: z.number().optional(),
    /** What the batch was when it was used. */
    water: z.object(measuredWater).optional(),
  }),
  z.object({
    ...ofBatch,
    event: z.literal('more'),
    salt_g: z.number().optional(),
    fresh_l: z.number().optional(),
  }),
]);

const ofKit = { ...ofPerson, kit: z.string() };

/** Values in the store unit of the analyte. */
const kit = z.discriminatedUnion('event', [
  z.object({
    ...ofKit,
    event: z.literal('opened'),
    name: z.string(),
    analyte: z.enum(analytes),
    lot: z.string().optional(),
    resolution: z.number().optional(),
  }),
  z.object({
    ...ofKit,
    event: z.literal('compared'),
    found: z.array(z.number()),
    reference: z.number(),
    reference_sd: z.number(),
    /** The test of the same water that the hub titrated. */
    titration: z.number().optional(),
  }),
  z.object({ ...ofKit, event: z.literal('applied'), fromMs: z.number() }),
]);

/** What lights a system. PAR is of full light, µmol/m²/s, by the lamp that hung there. */
const light = z.discriminatedUnion('event', [
  z.object({
    ...ofPerson,
    event: z.literal('lamp'),
    name: z.string(),
    /** Local time at which it begins to rise. */
    on_at: z.string(),
    full_hours: z.number(),
    ramp_up_hours: z.number(),
    ramp_down_hours: z.number(),
  }),
  z.object({
    ...ofPerson,
    event: z.literal('par'),
    places: z.array(z.object({ height_cm: z.number(), par: z.number() })),
  }),
]);

/** Rules and metrics as words: a kind of alarm that is no more stays in the history. */
const alarm = z.object({
  timeMs: z.number(),
  alarm: z.string(),
  occurrence: z.number(),
  state: z.enum([
    'raised',
    'cleared',
    'acknowledged',
    'shelved',
    'unshelved',
    'suppressed',
    'unsuppressed',
    'reraised',
  ]),
  system: z.string(),
  metric: z.string(),
  rule: z.string(),
  priority: z.enum(priorities),
  value: z.number().optional(),
  message: z.string(),
  by: z.string().optional(),
  why: z.string().optional(),
});

/** The advice is the rules' own; what reads it back looks at these and passes on the rest. */
const adviceGiven = z
  .looseObject({ kind: z.enum(['dose', 'hold_back', 'nothing', 'wait']), reason: z.string() })
  .transform((advice) => advice as unknown as Advice);

const advice = z.object({
  analyte: z.string(),
  advice: adviceGiven,
  declined: z
    .object({ reason: z.enum(declineReasons), note: z.string().optional(), by: z.string() })
    .optional()
    .describe('a person does not do it'),
  resumed: z.object({ by: z.string() }).optional(),
});

/** The hub's own remarks, and changes of settings. Beside the words each has what they are about. */
const note = z.looseObject({
  note: z.string(),
  about: z.string().optional(),
  event: z.string().optional(),
  by: z.string().optional(),
});

type Raw = Record<string, unknown>;

/**
 * One form of a kind's body. A form that has been released is never edited: a change is a further form, with the step that
 * turns one of the form before into it.
 */
type Forms<Body> = { schema: z.ZodType<Body>; steps: readonly ((body: Raw) => Raw)[] };

const forms = <Body>(schema: z.ZodType<Body>, ...steps: Forms<Body>['steps']): Forms<Body> => ({ schema, steps });

/** Of each kind the newest form, and the steps to it from the first one. */
export const bodies = {
  // The first form may lack what was typed: then it was typed in the store unit.
  test: forms(test, (body) => ({
    given_value: body['value'],
    given_unit: unitOf(body['analyte']),
    ...body,
  })),
  dose: forms(dose),
  water_change: forms(waterChange),
  calibration: forms(calibration),
  // The first form knew of nothing but corals that came, and counted their pieces at will.
  arrival: forms(arrival, (body) => ({
    event: 'arrived',
    ...body,
    pieces: Array.isArray(body['pieces']) ? body['pieces'] : undefined,
  })),
  piece: forms(piece),
  batch: forms(batch),
  kit: forms(kit),
  light: forms(light),
  alarm: forms(alarm),
  advice: forms(advice),
  plan: forms(plan),
  refill: forms(refill),
  note: forms(note),
} satisfies Record<JournalKind, unknown>;

function unitOf(analyte: unknown): string {
  const known = analytes.find((each) => each === analyte);
  return known === undefined ? '' : metricFacts[known].unit;
}

export type BodyOf<Kind extends JournalKind> = (typeof bodies)[Kind] extends Forms<infer Body> ? Body : never;
