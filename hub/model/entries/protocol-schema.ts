import * as z from 'zod';
import type { Protocol, ProtocolStep } from '#rules/arrivals/protocol.ts';
import { defined } from '#rules/plain-data/defined.ts';

/** A protocol as a keeper writes it in YAML. What only the order of the steps can tell is left to `protocolFaults`. */

const reagentSchema = z.strictObject({
  /** What the keeper calls it. */
  name: z.string().min(1).max(60),
  /** By the maker's label, mL for each litre of bath. */
  dose_ml_l: z.number().min(0).max(200),
  /** Lowest and highest dose on the label. */
  label: z
    .strictObject({ low_ml_l: z.number().min(0).max(200), high_ml_l: z.number().min(0).max(200) })
    .refine(({ low_ml_l, high_ml_l }) => low_ml_l <= high_ml_l, 'low_ml_l at most as high_ml_l')
    .optional(),
});

const minutes = z.number();

const stepSchema = z.discriminatedUnion('step', [
  z.strictObject({ step: z.literal('float'), minutes }),
  z.strictObject({ step: z.literal('acclimate'), minutes }),
  z.strictObject({
    step: z.literal('dip_bath'),
    tank_share: z.number(),
    reagents: z.array(reagentSchema).max(10).default([]),
  }),
  z.strictObject({ step: z.literal('soak'), minutes, most_minutes: z.number().optional() }),
  z.strictObject({ step: z.literal('swirl_and_rinse_off') }),
  z.strictObject({ step: z.literal('rinse_bath'), minutes: minutes.optional() }),
  z.strictObject({ step: z.literal('new_plug') }),
  z.strictObject({ step: z.literal('inspection') }),
  z.strictObject({ step: z.literal('placement') }),
]);

export const protocolSchema = z.strictObject({
  id: z.string().regex(/^[a-z0-9][a-z0-9_-]{0,39}$/, 'small letters, digits, - and _, at most 40 characters'),
  name: z.string().min(1).max(80),
  steps: z.array(stepSchema).max(100),
});

export type ReagentEntry = z.infer<typeof reagentSchema>;
export { reagentSchema };

export function reagentOf({ name, dose_ml_l, label }: ReagentEntry) {
  return {
    name,
    dose_mL_L: dose_ml_l,
    ...(label === undefined ? {} : { label: { low_mL_L: label.low_ml_l, high_mL_L: label.high_ml_l } }),
  };
}

function stepOf(step: z.infer<typeof stepSchema>): ProtocolStep {
  switch (step.step) {
    case 'dip_bath':
      return { kind: 'dip_bath', tankShare: step.tank_share, reagents: step.reagents.map(reagentOf) };
    case 'soak':
      return {
        kind: 'soak',
        minutes: step.minutes,
        ...defined({ mostMinutes: step.most_minutes }),
      };
    case 'rinse_bath':
      return { kind: 'rinse_bath', ...defined({ minutes: step.minutes }) };
    case 'float':
    case 'acclimate':
      return { kind: step.step, minutes: step.minutes };
    default:
      return { kind: step.step };
  }
}

export function protocolOf({ id, name, steps }: z.infer<typeof protocolSchema>): Protocol {
  return { id, name, steps: steps.map(stepOf) };
}
