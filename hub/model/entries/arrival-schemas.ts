import * as z from 'zod';
import { illnessSigns } from '#rules/arrivals/illness.ts';
import { lossCauses } from '../journal/reasons.ts';
import { pestIdSchema } from './pest-schema.ts';
import { reagentSchema } from './protocol-schema.ts';

/** What a person sends about an arrival; the same for the API and the command line. Limits of numbers are the rules' own. */

const name = z.string().min(1).max(80);
const systemId = z.string().min(1).max(40).describe('id of the system');
const instant = z.iso.datetime({ offset: true });
const by = z.string().min(1).max(60).optional();
const note = z.string().max(500).optional();
const key = z.string().min(1).max(100).optional().describe('the same key again is the same entry');

const felt = {
  temperature: z.number().optional().describe('°C'),
  salinity: z.number().optional(),
  ph: z.number().optional().describe('as an aquarium electrode shows it (NBS)'),
};

const sizeSchema = z.strictObject({ count: z.int().min(1).max(10_000), longest_cm: z.number() });

export const prepareSchema = z.strictObject({
  system: systemId,
  arrival: z.string().min(1).max(40).optional().describe('keeps the volumes with it: its checklist starts with them'),
  pieces: z.array(sizeSchema).max(100).default([]).describe('those of the arrival when it is empty'),
  vessel_l: z.number().describe('largest vessel for a dip bath'),
  bag_water_l: z.number().optional().describe('water that comes in the bags'),
  tank_share: z.number().optional().describe('share of a bath that comes from the tank, half or more'),
  salinity: z.number().optional().describe("the tank's, by its probe or test, when absent"),
  salt: z
    .string()
    .min(1)
    .max(60)
    .optional()
    .describe('a salt that you logged batches of: its strength is taken from them'),
  grams_per_litre_at_35: z.number().optional().describe("by the salt's maker; without it, 'salt' must be known"),
  mixing_hours: z.number().optional(),
  warm: z
    .strictObject({
      from_c: z.number(),
      to_c: z.number().optional().describe("the tank's temperature when absent"),
      heater_w: z.number(),
      room_c: z.number().optional(),
      loss_w_k: z.number().optional(),
    })
    .optional(),
  expected: instant.optional().describe('when the corals are due: gives the latest time to start'),
});

export const arrivalEntrySchema = z.strictObject({
  system: systemId,
  name,
  source: z.string().min(1).max(120).optional(),
  pieces: z
    .array(
      z.strictObject({
        kind: name,
        count: z.int().min(1).max(10_000),
        longest_cm: z.number().min(0.5).max(60).optional(),
      }),
    )
    .max(200)
    .default([]),
  expected: instant.optional(),
  arrived: instant.optional().describe('when it is here already'),
  pest: pestIdSchema.default('none_seen').describe('id of a pest: GET /api/pests'),
  key,
});

export const arrivedSchema = z.strictObject({ time: instant.optional() });

export const pestSchema = z.strictObject({ pest: pestIdSchema.describe('id of a pest: GET /api/pests') });

export const runStartSchema = z.strictObject({
  protocol: z.string().min(1).max(40).default('dip_and_inspect'),
  start_timer: z.boolean().optional().describe('true: the timer of the first step starts with it'),
  baths: z
    .array(
      z.strictObject({
        bath_l: z.number(),
        tank_share: z.number().optional(),
        reagents: z.array(reagentSchema).max(10).optional(),
      }),
    )
    .max(20)
    .default([])
    .describe('one for each dip bath of the protocol, in order'),
  soak_minutes: z.number().optional().describe("by the label, in place of the protocol's"),
  rinse_l: z.number().optional(),
  pieces: z.array(z.string().min(1).max(40)).max(500).default([]).describe('ids of registered pieces'),
  bath_probes: z.string().min(1).max(40).optional().describe('a configured system whose probes are in the bath'),
  batch: z.string().min(1).max(40).optional().describe('the new salt water for the rinse bath'),
});

export const doneSchema = z.strictObject({
  findings: z.string().min(1).max(1000).optional(),
  early: z.boolean().optional().describe('true: ends a step before its time is up; without it that is refused'),
});

export const bathWaterSchema = z
  .strictObject({ ...felt, bag: z.strictObject(felt).optional() })
  .describe('measured in the bath before the pieces go in, and in the bags');

export const shockSchema = z.strictObject({
  bag: z.strictObject({
    ...felt,
    litres: z.number().default(1),
    total_ammonia_mg_l_n: z.number().optional().describe('total ammonia as nitrogen'),
  }),
  into: z.strictObject(felt).optional().describe('the tank by its probes when absent'),
  float_minutes: z.number().optional(),
});

export const seenSchema = z.strictObject({
  time: instant.optional(),
  findings: z.string().min(1).max(1000),
  look_again_days: z.number().min(0.5).max(30).optional().describe('days until the next look, if something was seen'),
});

export const quarantineSchema = z.strictObject({
  days: z.int().min(0).max(365).describe('length of the quarantine after they came; 0 ends it'),
});

export const dippedSchema = z.strictObject({ time: instant.optional() });

const level = z.union([z.strictObject({ par: z.number() }), z.strictObject({ dli: z.number() })]);
const place = z.strictObject({ height_cm: z.number(), par: z.number() });

export const lightSchema = z.strictObject({
  profile: z.union([
    z.strictObject({ pairs: z.array(place).max(50) }),
    z.strictObject({ at: place, attenuation_per_m: z.number(), highest_cm: z.number().optional() }),
  ]),
  day: z.strictObject({
    full_hours: z.number(),
    ramp_up_hours: z.number().optional(),
    ramp_down_hours: z.number().optional(),
  }),
  start: level.optional(),
  target: level,
  days: z.int().optional().describe('21 when absent'),
  steps: z.enum(['equal_steps', 'equal_ratios']).default('equal_steps'),
  most_ratio: z
    .number()
    .optional()
    .describe('most that daily light may grow in a day, above 1 up to 2; 1.15 when absent'),
  first_day: z.iso.date().optional().describe("today in the site's zone when absent"),
});

export const holdSchema = z.strictObject({ for_days: z.int().default(3) });
export const stepBackSchema = z.strictObject({ by_days: z.int().default(3), for_days: z.int().default(3) });

const pieceHeight = z.number().min(0).max(500).optional().describe('above the sand bed, for the light that it gets');

export const pieceSchema = z.strictObject({
  system: systemId,
  kind: name.describe('what it is'),
  source: z.string().min(1).max(120).optional(),
  arrival: z.string().min(1).max(40).optional(),
  place: z.string().min(1).max(120).optional(),
  height_cm: pieceHeight,
  time: instant.optional(),
  by,
  note,
  key,
});

const pieceCommon = { time: instant.optional(), by, note };
export const pieceEventSchema = z.discriminatedUnion('event', [
  z.strictObject({
    event: z.literal('moved'),
    place: z.string().min(1).max(120),
    height_cm: pieceHeight,
    ...pieceCommon,
  }),
  z.strictObject({ event: z.literal('dipped'), ...pieceCommon }),
  z.strictObject({ event: z.literal('ill'), sign: z.enum(illnessSigns), ...pieceCommon }),
  z.strictObject({ event: z.literal('well'), ...pieceCommon }),
  z.strictObject({ event: z.literal('fragged'), frags: z.int().min(1).max(100), ...pieceCommon }),
  z.strictObject({ event: z.literal('lost'), cause: z.enum(lossCauses), ...pieceCommon }),
  z.strictObject({ event: z.literal('growth'), longest_cm: z.number().min(0.1).max(300).optional(), ...pieceCommon }),
]);

export const batchSchema = z.strictObject({
  system: systemId.describe('the system it is for'),
  litres: z.number().positive().max(1_000_000),
  salt: z.string().min(1).max(60).describe('what the keeper calls the salt'),
  salt_g: z.number().positive().max(1e9),
  arrival: z.string().min(1).max(40).optional().describe('the arrival that it is made for'),
  probes_of: z.string().min(1).max(40).optional().describe('a configured system whose probes are in the vessel'),
  time: instant.optional(),
  by,
  note,
  key,
});

export const batchWaterSchema = z.strictObject({
  temperature: z.number().min(0).max(40).optional(),
  salinity: z.number().min(1).max(60).optional(),
  salinity_sd: z.number().min(0.001).max(10).default(0.2),
  alkalinity: z.number().min(0).max(40).optional().describe('dKH'),
  calcium: z.number().min(0).max(2000).optional(),
  magnesium: z.number().min(0).max(5000).optional(),
  nitrate: z.number().min(0).max(500).optional(),
  phosphate: z.number().min(0).max(20).optional(),
  time: instant.optional(),
  by,
});

const waterMetrics = z.enum(['temperature', 'salinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate']);

export const batchPlanSchema = z.strictObject({
  litres: z.number().describe('of the finished water'),
  salinity: z.number().describe('wanted'),
  salinity_now: z.number().default(0).describe('of the water at hand; 0 for fresh water'),
  salt: z.string().min(1).max(60).optional().describe('its strength by the batches of it that were measured'),
  grams_per_litre_at_35: z.number().optional().describe("by the salt's maker; without it, 'salt' must be known"),
});

export const batchMoreSchema = z.strictObject({
  salt_g: z.number().positive().max(1e9).optional(),
  fresh_l: z.number().positive().max(1_000_000).optional(),
  time: instant.optional(),
  by,
  key,
});

export const changePlanSchema = z.strictObject({
  system: systemId,
  volume_l: z.number().optional().describe('what one change of this many litres does'),
  target: z.strictObject({ metric: waterMetrics, value: z.number() }).optional().describe('day by day to a target'),
  batch: z.string().min(1).max(40).optional(),
  water: z.partialRecord(waterMetrics, z.number()).optional().describe('the new water when it is no logged batch'),
  method: z.enum(['drain_then_fill', 'continuous']).default('drain_then_fill'),
});

export const changeDoneSchema = z.strictObject({
  system: systemId,
  batch: z.string().min(1).max(40),
  volume_l: z.number(),
  time: instant.optional(),
  by,
  note,
  key,
});

export type PrepareEntry = z.infer<typeof prepareSchema>;
export type ArrivalEntry = z.infer<typeof arrivalEntrySchema>;
export type StepDone = z.infer<typeof doneSchema>;
export type RunStart = z.infer<typeof runStartSchema>;
export type BathWaterEntry = z.infer<typeof bathWaterSchema>;
export type ShockEntry = z.infer<typeof shockSchema>;
export type SeenEntry = z.infer<typeof seenSchema>;
export type LightEntry = z.infer<typeof lightSchema>;
export type PieceEntry = z.infer<typeof pieceSchema>;
export type PieceEventEntry = z.infer<typeof pieceEventSchema>;
export type BatchEntry = z.infer<typeof batchSchema>;
export type BatchWaterEntry = z.infer<typeof batchWaterSchema>;
export type BatchPlanEntry = z.infer<typeof batchPlanSchema>;
export type BatchMoreEntry = z.infer<typeof batchMoreSchema>;
export type ChangePlanEntry = z.infer<typeof changePlanSchema>;
export type ChangeDoneEntry = z.infer<typeof changeDoneSchema>;
