import { configSchema } from '#hub/model/config/schema.ts';
import type { Answer } from '#hub/reports/advise/answer.ts';
import { openDiary } from '#hub/reports/advise/diary.ts';
import { riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substances } from '#rules/dosing/substances.ts';
import type { Act, Decider, Told } from './live-room.ts';
import type { RoomKind } from './room-kind.ts';

const stocks = {
  alkalinity: { substance: 'sodium_carbonate', grams_per_litre: 80, quantity: 'alkalinity_dKH' },
  calcium: { substance: 'calcium_chloride_dihydrate', grams_per_litre: 300, quantity: 'calcium_mg_L' },
  magnesium: { substance: 'magnesium_chloride_hexahydrate', grams_per_litre: 400, quantity: 'magnesium_mg_L' },
} as const;

/** How a keeper carries out what he reads: to the letter, a day late, each second time, or by half. */
export type Follows = 'to_the_letter' | 'a_day_late' | 'in_part' | 'by_half';

/** A keeper who tells the hub all that he does and does what it answers. */
export function asksTheHub(
  room: RoomKind,
  follows: Follows = 'to_the_letter',
  onAnswer?: (answer: Answer) => void,
): Decider {
  const { quantity, ...stock } = stocks[room.analyte];
  const risePerMl = riseFromDose(substances[stock.substance], stock.grams_per_litre / 1000, room.volumeL)[quantity];
  const { low, high, mostPerDay } = room.band;
  const config = configSchema.parse({
    site: { name: 'Invented room' },
    systems: [
      {
        ...{ id: 'tank', name: 'Tank', volume_l: room.volumeL },
        bands: { [room.analyte]: { low, high, most_per_day: mostPerDay } },
        stocks: [{ id: 'stock', name: 'Stock', ...stock }],
        ...(room.planShare === 0
          ? {}
          : {
              standing_plan: [
                { stock: 'stock', ml_per_day: (room.planShare * room.demand) / risePerMl, times_per_day: 24 },
              ],
            }),
      },
    ],
  });
  const diary = openDiary(config);
  let isFirstPlan = true;
  let asked = 0;

  function enter(told: Told): void {
    const time = new Date(told.timeMs).toISOString();
    switch (told.is) {
      case 'test': {
        const sd = told.sd === undefined ? {} : { sd: told.sd };
        const unit = room.analyte === 'alkalinity' ? 'dKH' : 'mg/L';
        diary.enter({ time, kind: 'test', system: 'tank', analyte: room.analyte, value: told.value, unit, ...sd });
        break;
      }
      case 'dose':
        diary.enter({ time, kind: 'dose', system: 'tank', stock: 'stock', ml: told.rise / risePerMl });
        break;
      case 'plan':
        // The first is the one that the configuration holds.
        if (!isFirstPlan) {
          const ml_per_day = told.risePerDay / risePerMl;
          diary.enter({ time, kind: 'plan', system: 'tank', stock: 'stock', ml_per_day, times_per_day: 24 });
        }
        isFirstPlan = false;
        break;
      case 'water_change': {
        const column = { alkalinity: 'alkalinity_dkh', calcium: 'calcium_mg_l', magnesium: 'magnesium_mg_l' } as const;
        const volume_l = told.share * room.volumeL;
        diary.enter({ time, kind: 'water_change', system: 'tank', volume_l, [column[room.analyte]]: told.newLevel });
        break;
      }
      case 'arrival':
        diary.enter({ time, kind: 'arrival', system: 'tank', event: 'arrived' });
    }
  }

  function ask(timeMs: number): Act {
    const answer = diary.ask('tank', timeMs);
    onAnswer?.(answer);
    const advice = answer.advice.find(({ analyte }) => analyte === room.analyte)!;
    const planPerDay = advice.plan[0]?.rise_per_day;
    const single = advice.today[0]?.rise;
    return { ...(planPerDay === undefined ? {} : { planPerDay }), ...(single === undefined ? {} : { single }) };
  }

  let planPerDay = room.planShare * room.demand;
  return {
    hear(told) {
      if (told.is === 'plan') planPerDay = told.risePerDay;
      enter(told);
    },
    decide(timeMs) {
      asked += 1;
      const act = ask(timeMs);
      if (follows === 'a_day_late') return { ...act, afterHours: 24 };
      if (follows === 'in_part') return asked % 2 === 0 ? {} : act;
      if (follows === 'by_half') {
        return {
          ...(act.planPerDay === undefined ? {} : { planPerDay: (act.planPerDay + planPerDay) / 2 }),
          ...(act.single === undefined ? {} : { single: act.single / 2 }),
        };
      }
      return act;
    },
  };
}
