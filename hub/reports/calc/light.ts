import { lightCautions, lightPlan } from '#rules/arrivals/light-plan.ts';
import type { LightProfile, ParAtHeight } from '#rules/arrivals/light-profile.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { Given } from './calculation.ts';

/** Columns of the plan, as `calc light` writes them. */
export const lightColumns = ['day', 'height_cm', 'par', 'dli'] as const;

export type LightRow = Record<(typeof lightColumns)[number], number>;

/**
 * The place behind the flag `--pair height_cm=par`.
 *
 * @throws Refused  for another form
 */
export function pairFlag(text: string): ParAtHeight {
  const [height, par, ...rest] = text.split('=').map((part) => part.trim());
  const [height_cm, par_umol_m2_s] = [Number(height || Number.NaN), Number(par || Number.NaN)];
  if (rest.length > 0 || !Number.isFinite(height_cm) || !Number.isFinite(par_umol_m2_s)) {
    throw new Refused('no_answer', `--pair: found "${text.slice(0, 40)}", need height_cm=par, as 30=250`);
  }
  return { height_cm, par_umol_m2_s };
}

/** The flags besides the places, with what holds when they are left out. */
export const lightInputs = [
  { name: 'start', help: 'PAR of the first day, µmol/m²/s; that of the lowest place unless given' },
  { name: 'target', help: 'PAR of the last day' },
  { name: 'days', help: 'from the first day at the start to the last at the target' },
  { name: 'hours', help: 'of full light a day; 10 unless given' },
  { name: 'ramp_hours', help: 'from dark to full, and the same down again, beside the full light; 0 unless given' },
  {
    name: 'most_ratio',
    help: 'most growth of the daily light from a day to the next, above 1 up to 2; 1.15 unless given',
  },
  { name: 'attenuation', help: 'with one place: how PAR grows with height, per metre' },
  { name: 'highest_cm', help: 'with --attenuation: how high the rack may go; the place measured unless given' },
] as const;

function profileOf(given: Given, pairs: readonly ParAtHeight[]): LightProfile {
  const attenuation_per_m = given.optionalNumber('attenuation');
  if (attenuation_per_m === undefined) return { kind: 'measured', pairs };
  const [at, ...others] = pairs;
  if (at === undefined || others.length > 0) {
    throw new Refused('no_answer', `attenuation: found ${pairs.length} places beside it, need one; or leave it out`);
  }
  const highest_cm = given.optionalNumber('highest_cm');
  return { kind: 'attenuation', at, attenuation_per_m, ...defined({ highest_cm }) };
}

/**
 * The height of the rack, its PAR and its daily light for each day of the plan, and what to know before following it.
 *
 * @param given  by the names of lightInputs
 * @param pairs  places measured, in any order
 * @throws Refused or OutOfRange  when there is no plan
 */
export function computeLight(
  given: Given,
  pairs: readonly ParAtHeight[],
  isByRatio = false,
): { rows: LightRow[]; cautions: string[] } {
  const start = given.optionalNumber('start');
  const rampHours = given.optionalNumber('ramp_hours') ?? 0;
  const plan = lightPlan({
    profile: profileOf(given, pairs),
    day: { fullHours: given.optionalNumber('hours') ?? 10, rampUpHours: rampHours, rampDownHours: rampHours },
    ...(start === undefined ? {} : { start: { par_umol_m2_s: start } }),
    target: { par_umol_m2_s: given.number('target') },
    days: given.number('days'),
    ...defined({ mostRatio: given.optionalNumber('most_ratio') }),
    steps: isByRatio ? 'equal_ratios' : 'equal_steps',
  });
  const rows = plan.days.map(({ day, height_cm, par_umol_m2_s, dli_mol_m2 }) => ({
    day,
    height_cm,
    par: par_umol_m2_s,
    dli: dli_mol_m2,
  }));
  return { rows, cautions: lightCautions(plan) };
}
