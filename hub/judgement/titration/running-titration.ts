import * as z from 'zod';
import type { Store } from '#adapters/ports/store.ts';
import { dataOf } from '../../flow/calibration/json-data.ts';
import { guidedSetupSchema } from '../../model/journal/titration-record.ts';
import { orNotStored } from '../../model/refusals/refused.ts';

const runningSchema = z.object({
  id: z.string(),
  system: z.string(),
  probe: z.string(),
  by: z.string(),
  startedMs: z.number(),
  acid_lot: z.string().optional(),
  setup: guidedSetupSchema,
  portions: z.array(
    z.object({
      timeMs: z.number(),
      amount: z.number(),
      key: z.string().optional(),
      maybeInSinceMs: z.number().optional(),
    }),
  ),
  /** When the portion was said to be in that was taken back, and not yet said again. */
  takenBackMs: z.number().optional(),
  /** A person went on before the CO2 was gone. */
  goneOnMs: z.number().optional(),
  /** The clock stepped: all times here end at `untilMs` of the clock before, and were `byMs` later by the clock of now. */
  clockMoved: z.object({ untilMs: z.number(), byMs: z.number() }).optional(),
});

/** A titration that is going on: what people said of it. What the probe said is in the store. */
export type RunningTitration = z.infer<typeof runningSchema>;

const nameOf = (system: string) => `titration/${system}`;

/**
 * Is: on disk before anyone is told of it, so that a hub that starts again goes on with the beaker as it is. Is not: kept when it
 * is finished or given up; a finished one is in the journal, with its test.
 */
export function keepRunning(store: Pick<Store, 'commit'>, run: RunningTitration): void {
  orNotStored(() => store.commit({ documents: [{ name: nameOf(run.system), body: JSON.stringify(run) }] }));
}

export function endRunning(store: Pick<Store, 'commit'>, system: string): void {
  orNotStored(() => store.commit({ documents: [{ name: nameOf(system), body: 'null' }] }));
}

/** The one of a system; undefined when there is none, or none that can be read. */
export function runningOf(store: Pick<Store, 'document'>, system: string): RunningTitration | undefined {
  const read = runningSchema.safeParse(dataOf(store.document(nameOf(system)) ?? 'null'));
  return read.success ? read.data : undefined;
}
