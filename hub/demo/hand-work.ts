import type { DoseEntry, PlanEntry, TestEntry, WaterChangeEntry } from '../model/entries/entry-schemas.ts';
import type { SystemState } from './reef-system.ts';
import { gaussian, type Random } from './seeded-random.ts';
import { alkalinityOf, calciumOf } from './water.ts';

/** What the invented keeper enters in the journal; each entry says in its note that it is invented. */

const note = 'invented by the demonstration';
const by = 'Ines Marsh (invented)';

export type TestedAnalyte = 'alkalinity' | 'calcium';

/** Standard uncertainty of a careful titration at home: common practice, no published source. */
const testSd: Record<TestedAnalyte, number> = { alkalinity: 0.12, calcium: 7 };
const testUnit: Record<TestedAnalyte, string> = { alkalinity: 'dKH', calcium: 'mg/L' };
const testStep: Record<TestedAnalyte, number> = { alkalinity: 0.1, calcium: 5 };

/** A hand titration of the water as it is, with the scatter and the scale of a drop test. */
export function handTest(system: SystemState, analyte: TestedAnalyte, timeMs: number, random: Random): TestEntry {
  const level = analyte === 'alkalinity' ? alkalinityOf(system.water) : calciumOf(system.water);
  const step = testStep[analyte];
  const read = Math.round((level + testSd[analyte] * gaussian(random)) / step) * step;
  const time = isoTime(timeMs);
  return {
    system: system.setup.id,
    time,
    analyte,
    value: Number(read.toFixed(2)),
    unit: testUnit[analyte],
    sd: testSd[analyte],
    by,
    note,
    key: `demo-test-${system.setup.id}-${analyte}-${time}`,
  };
}

const byPump = 'dosing pump (invented)';

/** What the pump gave in a part of the day, as one entry in its middle. */
export function dosesOfSpan(system: SystemState, timeMs: number, shareOfDay: number): DoseEntry[] {
  const { id, dosing_mL_day } = system.setup;
  const time = isoTime(timeMs);
  return [
    { stock: sodiumCarbonateStock, mL_day: dosing_mL_day.sodiumCarbonate },
    { stock: calciumChlorideStock, mL_day: dosing_mL_day.calciumChloride },
  ].map(({ stock, mL_day }) => {
    const ml = Number((mL_day * shareOfDay).toFixed(3));
    return { system: id, time, stock, ml, by: byPump, note, key: `demo-dose-${id}-${stock}-${time}` };
  });
}

/** The plan that the pump carries out from a time on, one entry for each stock; 0 mL ends it. */
export function planOfPump({ setup: { id, dosing_mL_day } }: SystemState, timeMs: number, share = 1): PlanEntry[] {
  const time = isoTime(timeMs);
  return [
    { stock: sodiumCarbonateStock, mL_day: dosing_mL_day.sodiumCarbonate },
    { stock: calciumChlorideStock, mL_day: dosing_mL_day.calciumChloride },
  ].map(({ stock, mL_day }) => ({
    system: id,
    time,
    stock,
    ml_per_day: Number((mL_day * share).toFixed(1)),
    times_per_day: 24,
    by,
    note,
    key: `demo-plan-${id}-${stock}-${time}`,
  }));
}

/** Ids of the two stock solutions, as the configuration of the demonstration names them. */
export const sodiumCarbonateStock = 'soda';
export const calciumChlorideStock = 'calcium';

/** A water change with water mixed as at the start of the system. */
export function waterChange(system: SystemState, timeMs: number, litres: number, salinity: number): WaterChangeEntry {
  const { id, start } = system.setup;
  const strength = salinity / start.salinity;
  const time = isoTime(timeMs);
  return {
    system: id,
    time,
    volume_l: litres,
    alkalinity_dkh: Number((start.alkalinity_dKH * strength).toFixed(2)),
    calcium_mg_l: Math.round(start.calcium_mg_L * strength),
    salinity,
    by,
    note,
    key: `demo-change-${id}-${time}`,
  };
}

function isoTime(timeMs: number): string {
  return new Date(timeMs).toISOString();
}
