import { within } from '../quantity/out-of-range.ts';
import {
  carbonateFromAlkalinityAndDic,
  carbonateFromAlkalinityAndPh,
  equilibriumOf,
} from '../seawater/carbonate-system.ts';
import { coefficientAt } from '../seawater/gas-exchange.ts';
import { carbonOf, type DoseCarbon, type WaterBeforeDose } from './effect-of-dose.ts';

/** Steps of the way, hours: the fastest exchange known (20/h) moves DIC by a fiftieth of its distance in one. Chosen here. */
const stepHours = 0.02;
const hoursOfDay = 24;

export type DoseOverTime = WaterBeforeDose &
  DoseCarbon & {
    /** 0 to 5000 µmol/kg of tank water. */
    addedAlkalinity_umol_kg: number;
    /** Given evenly over so many hours, 0 to 24; all at once with 0. */
    overHours: number;
    /** Gas exchange of this tank, 1/h at 25 °C, 0 to 20. */
    coefficient_per_h: number;
  };

/**
 * pH some hours after a dose, with the carbon dioxide that the air gives back meanwhile. It is the pH beside that of the same hour
 * without the dose: what lives in the tank and the room's air are taken to go on as they did. Corals that use the dose up are left out,
 * so that it is rather too high than too low.
 *
 * @param hours  after the beginning of the dose, 0 to 240
 * @returns total scale; with a coefficient of 0, or at 0 hours after a dose given at once, that of `effectOfDose`
 * @throws OutOfRange  outside these limits and those of the carbonate system
 * @source conservation of alkalinity and DIC (Dickson, Sabine & Christian 2007, chapter 2) with the flux of gas-exchange.ts
 */
export function phAfterHours(dose: DoseOverTime, hours: number): number {
  const { salinity, temperature_C, boronOption, addedAlkalinity_umol_kg: added } = dose;
  within('hours after the dose', hours, 0, 240);
  const overHours = within('hours over which it is given', dose.overHours, 0, hoursOfDay);
  const coefficient = coefficientAt(
    within('coefficient of gas exchange, 1/h', dose.coefficient_per_h, 0, 20),
    temperature_C,
  );
  within('added alkalinity, µmol/kg', added, 0, 5000);
  const water = { salinity, temperature_C, boronOption };
  const constants = equilibriumOf(water);
  const start = carbonateFromAlkalinityAndPh(
    { ...water, totalAlkalinity_umol_kg: dose.startTotalAlkalinity_umol_kg, phTotal: dose.startPhTotal },
    constants,
  );
  const givenAt = (time: number): number => (overHours === 0 ? added : added * Math.min(1, time / overHours));
  const at = (gained: number, time: number) =>
    carbonateFromAlkalinityAndDic(
      {
        ...water,
        totalAlkalinity_umol_kg: dose.startTotalAlkalinity_umol_kg + givenAt(time),
        dic_umol_kg: start.dic_umol_kg + givenAt(time) * carbonOf(dose) + gained,
      },
      constants,
    );
  const steps = coefficient === 0 ? 0 : Math.ceil(hours / Math.max(stepHours, hours / 500));
  let gained = 0;
  for (let step = 0; step < steps; step += 1) {
    const [from, width] = [(hours * step) / steps, hours / steps];
    // By the middle of the step, as the midpoint method has it.
    const slope = coefficient * (start.co2_umol_kg - at(gained, from).co2_umol_kg);
    const middle = at(gained + (slope * width) / 2, from + width / 2);
    gained += width * coefficient * (start.co2_umol_kg - middle.co2_umol_kg);
  }
  return at(gained, hours).phTotal;
}

/**
 * Share of what a day's extra base would do to pH at once that is left at the day's end, when it is given evenly over the day and the air
 * gives CO2 back all along.
 *
 * @param dose  its size matters little; `overHours` is taken as a day
 * @returns 0 to 1; 1 without gas exchange
 * @throws OutOfRange  as `phAfterHours`, or for a dose that moves no pH
 */
export function shareLeftOfDay(dose: Omit<DoseOverTime, 'overHours'>): number {
  const atOnce = phAfterHours({ ...dose, overHours: 0, coefficient_per_h: 0 }, 0) - dose.startPhTotal;
  const ofDay = phAfterHours({ ...dose, overHours: hoursOfDay }, hoursOfDay) - dose.startPhTotal;
  return Math.min(1, Math.max(0, ofDay / within('rise of pH by the dose', atOnce, 1e-9, 5)));
}
