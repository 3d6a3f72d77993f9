import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { carbonPerAlkalinity } from '#rules/dosing/effect-of-dose.ts';
import { substances } from '#rules/dosing/substances.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { meqPerLFromDkh } from '#rules/quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '#rules/quantity/amount.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import type { Dated } from '#rules/trend/day-course.ts';
import type { Night, NightHour } from '#rules/trend/gas-transfer.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { stockStrength } from '../../model/config/stock-strength.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { risesOfDose, risesPerMl } from './dose-rise.ts';
import type { SourceNow } from './sources-now.ts';
import { planNow } from './standing-plan.ts';

/** The means of hours are dated at their middle. */
const halfHour = 0.5;
/** What the light has left in the corals is used up first: so long after dark a night is not looked at, hours. Chosen here. */
const settledHours = 2;
/** Share of a day's use that falls into the hours of light: skeletons grow some three times as fast in light. @source Gattuso et al. 1999, American Zoologist 39:160 (from memory) */
const usedByLight = 0.62;
/** A night with a dose by hand of more than this has a curve of its own, dKH. Chosen here: it moves DIC by as much as the night does. */
const mostByHand_dKH = 0.05;

export type HoursOfWater = {
  ph: readonly Dated[];
  temperature: readonly Dated[];
  room: readonly Dated[];
  salinity: number;
  temperature_C: number;
  /** By now, and what the tank uses of it in a day. */
  alkalinity_dKH: number;
  usePerDay_dKH: number;
  usePerDaySd_dKH: number;
  /** What a reactor brings: its stock, and the carbon with each equivalent of alkalinity where it is known. */
  sources: readonly Pick<SourceNow, 'stock' | 'carbon_mol_eq'>[];
  spotRoom_ppm?: number;
};

/**
 * The last weeks as days of light, each with the night after it.
 *
 * @param phTotalOf  of a value that the probe shows
 * @param hourOf  local hour of the day, with its fraction
 */
export function gasNights(
  system: SystemConfig,
  entries: readonly Entry[],
  water: HoursOfWater,
  light: { onMinute: number; lightHours: number },
  phTotalOf: (shown: number) => number,
  hourOf: (timeMs: number) => number,
  nowMs: number,
): Night[] {
  const density_kg_L = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
  const perKg = (dKH: number): number => umolPerKgFromMmolPerL(meqPerLFromDkh(dKH), density_kg_L);
  const { lightHours } = light;
  const tests = ofKind(entries, 'test')
    .filter(({ body, timeMs }) => body.analyte === 'alkalinity' && timeMs <= nowMs)
    .map(({ timeMs, body }) => ({ timeMs, value: body.value }));
  const byHand = ofKind(entries, 'dose').map(({ timeMs, body }) => ({
    timeMs,
    value: risesOfDose(system, body).alkalinity ?? 0,
  }));
  const temperatureAt = lookUp(water.temperature);
  const roomAt = lookUp(water.room);
  const sinceOn = (timeMs: number): number => (hourOf(timeMs) - light.onMinute / 60 + 24) % 24;
  const days = new Map<number, { light: NightHour[]; hours: NightHour[] }>();
  for (const { timeMs, value } of water.ph) {
    const since = sinceOn(timeMs);
    const begunMs = timeMs - since * hourMs;
    const key = Math.round(begunMs / dayMs);
    const day = days.get(key) ?? { light: [], hours: [] };
    days.set(key, day);
    const room = roomAt(timeMs);
    const hour: NightHour = {
      timeMs,
      phTotal: phTotalOf(value),
      temperature_C: temperatureAt(timeMs) ?? water.temperature_C,
      totalAlkalinity_umol_kg: perKg(
        between(tests, timeMs, water.alkalinity_dKH) + swingAt(since, lightHours, water.usePerDay_dKH),
      ),
      ...defined({ room_ppm: room }),
    };
    // The mean of an hour in which the light changes is of neither.
    if (since >= halfHour && since <= lightHours - halfHour) day.light.push(hour);
    else if (since >= lightHours + settledHours + halfHour && since <= 24 - halfHour) day.hours.push(hour);
  }
  const carbon = carbonGiven(system, entries, water.sources, nowMs);
  const rest = {
    salinity: water.salinity,
    used_umol_kg_h: perKg(water.usePerDay_dKH) / 24,
    usedSd_umol_kg_h: perKg(water.usePerDaySd_dKH) / 24,
    carbonGiven_umol_kg_h: perKg(carbon) / 24,
    ...defined({ spotRoom_ppm: water.spotRoom_ppm }),
  };
  return [...days.values()]
    .filter(({ hours }) => {
      const [from, to] = [hours[0]?.timeMs ?? 0, hours.at(-1)?.timeMs ?? 0];
      const given = byHand.filter(({ timeMs }) => timeMs >= from - settledHours * hourMs && timeMs <= to);
      return given.reduce((sum, { value }) => sum + value, 0) <= mostByHand_dKH;
    })
    .map((day) => ({ ...day, ...rest }));
}

/** Alkalinity between two tests, by a straight line; before the first and after the last that of the nearest. */
function between(tests: readonly Dated[], timeMs: number, now: number): number {
  const after = tests.find((test) => test.timeMs >= timeMs);
  const before = tests.findLast((test) => test.timeMs < timeMs);
  if (after === undefined) return before === undefined ? now : (before.value + now) / 2;
  if (before === undefined) return after.value;
  return before.value + ((after.value - before.value) * (timeMs - before.timeMs)) / (after.timeMs - before.timeMs);
}

/** What a plan that gives evenly and corals that use more in light make of a day, dKH around its mean. */
function swingAt(sinceOn: number, lightLength: number, usePerDay: number): number {
  const [byLight, byDark] = [usedByLight / lightLength, (1 - usedByLight) / (24 - lightLength)];
  const fall = (1 / 24 - byLight) * lightLength;
  const at = sinceOn < lightLength ? (1 / 24 - byLight) * sinceOn : fall + (1 / 24 - byDark) * (sinceOn - lightLength);
  return usePerDay * (at - fall / 2);
}

/** Carbon that the plan of a day brings with its alkalinity, as dKH of bicarbonate; of an unknown make-up a half, as of carbonate. */
function carbonGiven(
  system: SystemConfig,
  entries: readonly Entry[],
  sources: HoursOfWater['sources'],
  nowMs: number,
): number {
  return planNow(system, entries, nowMs).reduce((sum, { stock: id, mlPerDay }) => {
    const stock = system.stocks.find((each) => each.id === id);
    if (stock === undefined) return sum;
    const strength = stockStrength(stock);
    const addition = strength.of === 'substance' ? substances[strength.substance].addition : strength.addition;
    // The tank has less carbon than alkalinity: its water leaves a reactor with more than bicarbonate and free gas.
    const ofReactor = sources.find((source) => source.stock === id)?.carbon_mol_eq ?? undefined;
    const share = ofReactor ?? (addition === undefined ? 0.5 : addition === 'none' ? 0 : carbonPerAlkalinity[addition]);
    return sum + share * mlPerDay * (risesPerMl(stock, system.volume_l).alkalinity ?? 0);
  }, 0);
}

/** The value of the hour that a time lies in. */
function lookUp(values: readonly Dated[]): (timeMs: number) => number | undefined {
  const byHour = new Map(values.map(({ timeMs, value }) => [Math.floor(timeMs / hourMs), value]));
  return (timeMs) => byHour.get(Math.floor(timeMs / hourMs));
}
