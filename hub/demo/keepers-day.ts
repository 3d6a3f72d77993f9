import type { DoseEntry, PlanEntry, TestEntry, WaterChangeEntry } from '../model/entries/entry-schemas.ts';
import { dosesOfSpan, handTest, waterChange } from './hand-work.ts';
import type { DemoRoom } from './reef-system.ts';
import { afterWaterChange } from './room.ts';
import { localHour } from './room-air.ts';
import type { Random } from './seeded-random.ts';

/** Something that the invented keeper enters in the journal. */
export type Given =
  | { kind: 'test'; entry: TestEntry }
  | { kind: 'dose'; entry: DoseEntry }
  | { kind: 'water_change'; entry: WaterChangeEntry }
  | { kind: 'plan'; entry: PlanEntry };

/** Local hour at which the invented keeper tests, and changes water. */
const testHour = 18;

/**
 * Local hours in the middle of the spans for which the invented pump's doses are entered. It doses evenly; a whole day
 * entered at once would read as one dose, and the estimate would stand a day's rise above the water that evening.
 */
const doseHours = [2, 6, 10, 14, 18, 22];

/** Every so many days calcium is tested and water is changed, and how much. */
const calciumEveryDays = 3;
const waterChangeEveryDays = 7;
const waterChangeShare = 0.1;

/**
 * Change water is mixed weak by this for each mL of solution a litre gets in a day, since doses leave sodium chloride
 * behind: with a tenth of the water changed each week, salinity then stays where it is.
 */
const weakerByPerMlL = 8;

/** What the keeper does at the hours that lie between two states of the room, and the room after it. */
export function keepersDay(before: DemoRoom, after: DemoRoom, random: Random): { room: DemoRoom; given: Given[] } {
  const given: Given[] = [];
  let room = after;
  if (isBetween(testHour, before, after)) {
    const day = Math.floor((after.timeMs / 60_000 + after.utcOffsetMinutes) / 1440);
    for (const system of after.systems) {
      given.push({ kind: 'test', entry: handTest(system, 'alkalinity', after.timeMs, random) });
      if (day % calciumEveryDays === 0) {
        given.push({ kind: 'test', entry: handTest(system, 'calcium', after.timeMs, random) });
      }
      if (day % waterChangeEveryDays !== 0) continue;
      const { id, volumeL, start, dosing_mL_day } = system.setup;
      const litres = volumeL * waterChangeShare;
      const weakerBy = (weakerByPerMlL * dosing_mL_day.sodiumCarbonate) / volumeL;
      const salinity = Number((start.salinity - weakerBy).toFixed(1));
      given.push({ kind: 'water_change', entry: waterChange(system, after.timeMs, litres, salinity) });
      room = afterWaterChange(room, id, litres, salinity);
    }
  }
  if (doseHours.some((hour) => isBetween(hour, before, after))) {
    const doses = after.systems.flatMap((system) => dosesOfSpan(system, after.timeMs, 1 / doseHours.length));
    given.push(...doses.map((entry): Given => ({ kind: 'dose', entry })));
  }
  return { room, given };
}

function isBetween(hour: number, before: DemoRoom, after: DemoRoom): boolean {
  const since = localHour(before.timeMs, before.utcOffsetMinutes);
  const until = localHour(after.timeMs, after.utcOffsetMinutes);
  return since < hour && until >= hour;
}
