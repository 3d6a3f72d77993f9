import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { dailyLightIntegral, equivalentFullHours, type LightDay, parFromDailyLight } from './daily-light.ts';
import { type CheckedProfile, checkedProfile, heightForPar, type LightProfile, parAtHeight } from './light-profile.ts';

/**
 * Days that Acropora takes to settle to another light.
 *
 * @source about three weeks: DiPerna et al. 2018, PLoS ONE 13:e0203882; J. Exp. Biol. 2019, 222, jeb195982
 */
export const photoacclimationDays = 21;

/** Most that daily light may grow from one day to the next, as a ratio, in every plan where the keeper says nothing else. @source common practice, no published source */
export const mostDailyRatio = 1.15;

/** Longest plan, days, holds included. */
const mostDays = 366;

/** Light as PAR at full light, µmol/m²/s, or as daily light integral, mol/m² in a day. */
export type LightLevel = { par_umol_m2_s: number } | { dli_mol_m2: number };

/** `equal_steps`: as much more daily light each day. `equal_ratios`: the same percentage more each day, gentler at first. */
export type LightSteps = 'equal_steps' | 'equal_ratios';

export type LightWish = {
  profile: LightProfile;
  day: LightDay;
  /** The light of day 1; that of the lowest place measured unless given. */
  start?: LightLevel;
  /** The light of the last day, above the start. */
  target: LightLevel;
  /** From the first day at the start to the last at the target, 2 to 366; more where a day would grow by more than `mostDailyRatio`. */
  days: number;
  /** `equal_steps` unless given. */
  steps?: LightSteps;
  /** Most that daily light may grow from one day to the next, as a ratio, above 1 up to 2; `mostDailyRatio` unless given. */
  mostRatio?: number;
};

export type LightPlanDay = {
  /** 1 is the first. */
  day: number;
  /** What the plan asks for, mol/m² in a day. */
  wanted_mol_m2: number;
  /** Where to set the rack, whole centimetres above the sand bed. */
  height_cm: number;
  /** At full light at that height, µmol/m²/s. */
  par_umol_m2_s: number;
  dli_mol_m2: number;
};

/** Plain data: a plan can be stored and re-laid later from any day. */
export type LightPlan = {
  places: CheckedProfile;
  day: LightDay;
  steps: LightSteps;
  target_mol_m2: number;
  /** What each day adds (mol/m²) or multiplies by (no unit), set when the plan was first laid. */
  step: number;
  /** As `LightWish` has it; absent in plans laid before there was one. */
  mostRatio?: number;
  days: LightPlanDay[];
};

/**
 * The height of the rack for each day, from low light to the target.
 *
 * Heights are the nearest whole centimetre inside the places measured, so that a day's light misses the plan by what half a
 * centimetre makes; `dli_mol_m2` is what the rack really gets.
 *
 * @throws OutOfRange  for a profile that `checkedProfile` refuses, a start or target that no height has, a target not above
 *   the start, or a number outside the limits of LightWish
 * @source definition of the daily light integral; Beer–Lambert between the places
 */
export function lightPlan(wish: LightWish): LightPlan {
  const places = checkedProfile(wish.profile);
  equivalentFullHours(wish.day);
  const days = within('days of the plan', wish.days, 2, mostDays);
  if (!Number.isInteger(days)) throw new OutOfRange('days of the plan', days, 'a whole number');
  const steps = wish.steps ?? 'equal_steps';
  const start = levelWithin('start', wish.start ?? { par_umol_m2_s: places[0]!.par_umol_m2_s }, wish.day, places);
  const target = levelWithin('target', wish.target, wish.day, places);
  if (!(target > start)) {
    throw new OutOfRange('target, mol/m² in a day', round(target), `above the start, ${round(start)}`);
  }
  const step = steps === 'equal_steps' ? (target - start) / (days - 1) : (target / start) ** (1 / (days - 1));
  const mostRatio = wish.mostRatio ?? mostDailyRatio;
  if (!(mostRatio > 1 && mostRatio <= 2)) throw new OutOfRange('growth a day, ratio', mostRatio, 'above 1, at most 2');
  const frame = { places, day: wish.day, steps, target_mol_m2: target, step, mostRatio };
  const wanted = [start, ...climb(frame, start)];
  within('days of the plan', wanted.length, 2, mostDays);
  return { ...frame, days: laidOut(frame, [], wanted) };
}

type Frame = Pick<LightPlan, 'places' | 'day' | 'steps' | 'target_mol_m2' | 'step' | 'mostRatio'>;

/** The days after a level until the target, by the plan's own steps, none larger than its largest ratio. */
function climb({ steps, step, target_mol_m2: target, mostRatio = mostDailyRatio }: Frame, from: number): number[] {
  const wanted: number[] = [];
  let level = from;
  while (level < target && wanted.length <= mostDays) {
    const next = Math.min(steps === 'equal_steps' ? level + step : level * step, level * mostRatio);
    // The last step lands on the target, also when the float beside it would need one more.
    level = next >= target * (1 - 1e-9) ? target : next;
    wanted.push(level);
  }
  return wanted;
}

/** The days of a plan after those that are kept, with the height of the rack for each. */
function laidOut(frame: Frame, kept: readonly LightPlanDay[], wanted: readonly number[]): LightPlanDay[] {
  const days = [...kept];
  for (const dli of wanted) days.push(planDay(frame, days.length + 1, dli, days.at(-1)));
  // The last day may have stayed a centimetre lower.
  const last = days.at(-1)!;
  const end = planDay(frame, days.length + 1, last.wanted_mol_m2, last);
  if (end.height_cm > last.height_cm) days.push(end);
  return days;
}

/** What the keeper does when a piece looks pale. */
export type LightChange =
  /** The height of that day stays for some days more. */
  | { kind: 'hold'; day: number; forDays: number }
  /** From that day back to the light of some days before, held there for some days. */
  | { kind: 'step_back'; day: number; byDays: number; forDays: number };

/**
 * The plan laid again from a day on. The days before stay as they were; after the hold it climbs by the steps of the first
 * plan, no faster, so that it ends later.
 *
 * @param change.day      a day of the plan, on which the keeper looks
 * @param change.forDays  1 to 60 days at the level that is held
 * @param change.byDays   1 up to the days before that day
 * @throws OutOfRange  outside these limits, or for a plan that would pass 366 days
 */
export function relayLightPlan(plan: LightPlan, change: LightChange): LightPlan {
  const day = wholeWithin('day of the plan', change.day, 1, plan.days.length);
  const forDays = wholeWithin('days to hold', change.forDays, 1, 60);
  if (change.kind === 'step_back' && day === 1) throw new OutOfRange('day of the plan', 1, '2 or more to step back');
  const from = change.kind === 'hold' ? day : day - wholeWithin('days to step back', change.byDays, 1, day - 1);
  const held = plan.days[from - 1]!;
  // A hold keeps this day as it is and repeats it; a step back takes effect on this day.
  const kept = plan.days.slice(0, change.kind === 'hold' ? day : day - 1);
  // The rack stands still meanwhile, also where whole centimetres had left it below the plan: that rest waits for the climb.
  for (let count = 0; count < forDays; count += 1) kept.push({ ...held, day: kept.length + 1 });
  const wanted = climb(plan, held.wanted_mol_m2);
  within('days of the plan', kept.length + wanted.length, 2, mostDays);
  return { ...plan, days: laidOut(plan, kept, wanted) };
}

/**
 * The plan under another lamp, or other hours of light: from that day on it starts from the light that the pieces had the day before,
 * and climbs as before.
 *
 * @param day  1 up to the day after the plan's last
 * @throws OutOfRange  for a day outside, a profile that `checkedProfile` refuses, or a lamp under which no height is as dark as the
 *   pieces are used to, or as bright as the target: then dim it first, see `lampChange`
 */
export function underNewLamp(plan: LightPlan, profile: LightProfile, lightDay: LightDay, day: number): LightPlan {
  const from = wholeWithin('day of the plan', day, 1, plan.days.length + 1);
  const places = checkedProfile(profile);
  const kept = plan.days.slice(0, from - 1);
  const had = kept.at(-1)?.dli_mol_m2 ?? plan.days[0]!.wanted_mol_m2;
  const frame = { ...plan, places, day: lightDay };
  levelWithin('light that the pieces had', { dli_mol_m2: had }, lightDay, places);
  levelWithin('target', { dli_mol_m2: plan.target_mol_m2 }, lightDay, places);
  const wanted = [had, ...climb(frame, had)];
  within('days of the plan', kept.length + wanted.length, 2, mostDays);
  return { ...frame, days: laidOut({ ...frame }, kept, wanted) };
}

/** What to know before the rack is moved: a plan that is faster than corals settle, and steps too coarse to set. */
export function lightCautions(plan: LightPlan): string[] {
  const found: string[] = [];
  if (plan.days.length < photoacclimationDays) {
    found.push(
      `Acropora takes about ${photoacclimationDays} days to settle to another light; this plan has ${plan.days.length}. Hold when a piece pales.`,
    );
  }
  const highest = plan.days.at(-1)!;
  if (Math.abs(highest.dli_mol_m2 / plan.target_mol_m2 - 1) > 0.05) {
    found.push(
      'A centimetre makes more than 5 % of the light near the target: measure PAR there once the rack is in place.',
    );
  }
  if (plan.days.length > 1 && isBounded(plan))
    found.push(
      `Daily light grows by at most ${Math.round(100 * ((plan.mostRatio ?? mostDailyRatio) - 1))} % a day, so that this plan has ${plan.days.length} days.`,
    );
  found.push('A lamp changed, cleaned or moved, or a new water level, invalidates the measured PAR: measure again.');
  return found;
}

/** True where the ratio, and not the steps asked for, sets the pace of some day. */
function isBounded({ days, steps, step, mostRatio = mostDailyRatio }: LightPlan): boolean {
  return days.some(({ wanted_mol_m2 }, index) => {
    const before = days[index - 1]?.wanted_mol_m2;
    if (before === undefined || wanted_mol_m2 <= before) return false;
    const asked = steps === 'equal_steps' ? before + step : before * step;
    return asked > before * mostRatio * (1 + 1e-9);
  });
}

function planDay(
  frame: Pick<LightPlan, 'places' | 'day' | 'mostRatio'>,
  day: number,
  wanted_mol_m2: number,
  before?: LightPlanDay,
): LightPlanDay {
  const exact_cm = heightForPar(frame.places, parFromDailyLight(wanted_mol_m2, frame.day));
  const lowest_cm = Math.ceil(frame.places[0]!.height_cm);
  const highest_cm = Math.floor(frame.places.at(-1)!.height_cm);
  const at = (height_cm: number): LightPlanDay => {
    const par_umol_m2_s = parAtHeight(frame.places, height_cm);
    return { day, wanted_mol_m2, height_cm, par_umol_m2_s, dli_mol_m2: dailyLightIntegral(par_umol_m2_s, frame.day) };
  };
  const nearest = at(Math.min(Math.max(Math.round(exact_cm), lowest_cm), highest_cm));
  // Whole centimetres must not make a step that the plan itself does not: a centimetre lower then, and the rest tomorrow.
  const isTooMuch =
    before !== undefined && nearest.dli_mol_m2 > before.dli_mol_m2 * (frame.mostRatio ?? mostDailyRatio) * (1 + 1e-9);
  const lower = nearest.height_cm - 1;
  return isTooMuch && lower >= lowest_cm && lower > before.height_cm ? at(lower) : nearest;
}

/** A level as daily light, when some height between the places has it. */
function levelWithin(name: string, level: LightLevel, day: LightDay, places: CheckedProfile): number {
  const par = 'par_umol_m2_s' in level ? level.par_umol_m2_s : parFromDailyLight(level.dli_mol_m2, day);
  const [lowest, highest] = [places[0]!.par_umol_m2_s, places.at(-1)!.par_umol_m2_s];
  const slack = 1e-9 * highest;
  if (!(par >= lowest - slack && par <= highest + slack)) {
    throw new OutOfRange(
      `PAR of the ${name}, µmol/m²/s`,
      round(par),
      `${round(lowest)} to ${round(highest)}, which is what was measured`,
    );
  }
  return dailyLightIntegral(Math.min(Math.max(par, lowest), highest), day);
}

function wholeWithin(name: string, found: number, low: number, high: number): number {
  if (!Number.isInteger(found)) throw new OutOfRange(name, found, 'a whole number');
  return within(name, found, low, high);
}

const round = (value: number): number => Number(value.toPrecision(6));
