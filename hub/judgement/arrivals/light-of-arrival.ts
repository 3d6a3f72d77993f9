import type { LightDay } from '#rules/arrivals/daily-light.ts';
import {
  type LightChange,
  type LightLevel,
  type LightPlan,
  type LightWish,
  lightPlan,
  photoacclimationDays,
  relayLightPlan,
  underNewLamp,
} from '#rules/arrivals/light-plan.ts';
import type { ParAtHeight } from '#rules/arrivals/light-profile.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { dateAfter, daysBetween, localDate } from '../../model/calendar/local-day.ts';
import type { LightEntry } from '../../model/entries/arrival-schemas.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Arrival } from './arrivals-state.ts';

type Light = NonNullable<Arrival['light']>;

/** A new plan from what the keeper measured. */
export function lightFrom(entry: LightEntry, nowMs: number, timezone: string): Light {
  const plan = orRefused(() => lightPlan(wishOf(entry)));
  return { plan, firstDay: entry.first_day ?? localDate(nowMs, timezone) };
}

/** Which day of the plan a time lies in: below 1 before it begins, above its length when it is over. */
export function dayOfPlan(light: Light, nowMs: number, timezone: string): number {
  return daysBetween(light.firstDay, localDate(nowMs, timezone)) + 1;
}

/** What the keeper asks for when a piece looks pale. */
export type LightWithin =
  | { kind: 'hold'; forDays: number }
  | { kind: 'step_back'; byDays: number; forDays: number }
  /** Another lamp hangs there, or its hours changed: what was measured of it. */
  | { kind: 'new_lamp'; measured: readonly ParAtHeight[]; lightDay: LightDay };

/** The plan laid again from today on. */
export function relaid(light: Light, change: LightWithin, nowMs: number, timezone: string): Light {
  const day = Math.min(dayOfPlan(light, nowMs, timezone), light.plan.days.length);
  if (day < 1) throw new Refused('not_now', `the light plan begins on ${light.firstDay}`);
  if (change.kind === 'new_lamp') {
    const profile = { kind: 'measured' as const, pairs: change.measured };
    return { ...light, plan: orRefused(() => underNewLamp(light.plan, profile, change.lightDay, day)) };
  }
  const asked: LightChange = { ...change, day };
  return { ...light, plan: orRefused(() => relayLightPlan(light.plan, asked)) };
}

export const dateOfDay = (light: Light, day: number): string => dateAfter(light.firstDay, day - 1);

export const isPlanOver = (light: Light, nowMs: number, timezone: string): boolean =>
  dayOfPlan(light, nowMs, timezone) > light.plan.days.length;

/** What to do with the rack today, in a line; undefined before the plan and after it. */
export function lightLine(light: Light, nowMs: number, timezone: string): string | undefined {
  const day = dayOfPlan(light, nowMs, timezone);
  const today = light.plan.days[day - 1];
  if (today === undefined) return undefined;
  const before = light.plan.days[day - 2];
  const move = before?.height_cm === today.height_cm ? 'leave the rack at' : 'set the rack to';
  const par = today.par_umol_m2_s.toFixed(0);
  return `light day ${day} of ${light.plan.days.length}: ${move} ${today.height_cm} cm (PAR ${par}). Pale? Hold or step back.`;
}

function wishOf({ profile, day, start, target, days, steps, most_ratio }: LightEntry): LightWish {
  const light: LightPlan['day'] = {
    fullHours: day.full_hours,
    ...defined({ rampUpHours: day.ramp_up_hours, rampDownHours: day.ramp_down_hours }),
  };
  const place = (each: { height_cm: number; par: number }) => ({ height_cm: each.height_cm, par_umol_m2_s: each.par });
  return {
    profile:
      'pairs' in profile
        ? { kind: 'measured', pairs: profile.pairs.map(place) }
        : {
            kind: 'attenuation',
            at: place(profile.at),
            attenuation_per_m: profile.attenuation_per_m,
            ...defined({ highest_cm: profile.highest_cm }),
          },
    day: light,
    target: levelOf(target),
    days: days ?? photoacclimationDays,
    steps,
    ...(start === undefined ? {} : { start: levelOf(start) }),
    ...defined({ mostRatio: most_ratio }),
  };
}

function levelOf(level: { par: number } | { dli: number }): LightLevel {
  return 'par' in level ? { par_umol_m2_s: level.par } : { dli_mol_m2: level.dli };
}
