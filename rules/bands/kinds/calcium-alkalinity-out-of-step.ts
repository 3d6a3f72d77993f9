import { dayMs } from '../../clock/durations.ts';
import { amountText } from '../../words/value-text.ts';
import type { Condition } from '../condition.ts';
import type { DemandReport } from './demand-changed.ts';
import { type AlarmKind, untilNext } from './kind.ts';

/**
 * Stony corals lay down calcium carbonate: for each mole of calcium two equivalents of alkalinity. Where the two demands part
 * from that, a test, a standard solution or a dose is wrong, or something else uses alkalinity.
 */

/**
 * Calcium used with 1 dKH of alkalinity, mg/L: 1 dKH is 10 mg/L CaO, so 10 / 56.077 mmol/L of CaO with two equivalents each,
 * and half as many moles of calcium as equivalents; 10 / 56.077 x 40.078.
 *
 * @source standard atomic weights Ca 40.078, O 15.999 (IUPAC); definition of the German degree
 */
export const calciumPerAlkalinity_mgL_per_dKH = (10 / 56.077) * 40.078;

/** Demands further apart say nothing about each other. */
const mostApartDays = 14;
/** Below this demand, in dKH a day, both are lost in the noise of the tests. */
const leastDemand_dKH = 0.1;
const deviations = 2;

/**
 * @param alkalinity  demand in dKH a day
 * @param calcium     demand in mg/L a day
 * @param limit       share of the expected calcium demand, 0 to 1
 */
export function outOfStepCondition(
  alkalinity: DemandReport | undefined,
  calcium: DemandReport | undefined,
  limit: number,
  deadband: number,
): Condition {
  if (alkalinity === undefined || calcium === undefined) return 'unknown';
  if (Math.abs(alkalinity.timeMs - calcium.timeMs) > mostApartDays * dayMs) return 'unknown';
  if (alkalinity.perDay < leastDemand_dKH) return 'unknown';
  const expected = calciumPerAlkalinity_mgL_per_dKH * alkalinity.perDay;
  const sd = Math.hypot(calcium.sd, calciumPerAlkalinity_mgL_per_dKH * alkalinity.sd);
  const difference = Math.abs(calcium.perDay - expected);
  if (difference > limit * expected && difference > deviations * sd) return 'abnormal';
  return difference > (limit - deadband) * expected ? 'deadband' : 'normal';
}

export const calciumAlkalinityOutOfStep: AlarmKind<'calcium_alkalinity_out_of_step', never, 'outOfStep'> = {
  id: 'calcium_alkalinity_out_of_step',
  means: 'Calcium and alkalinity do not fall in the proportion that skeletons take up.',
  firstLook: 'test both again, and see whether one stock ran empty or was mixed at another strength.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {},
  elsewhere: {
    outOfStep: {
      defaults: ({ metric }) =>
        metric === 'calcium' ? { ...untilNext, priority: 'low', limit: 0.4, deadband: 0.15 } : undefined,
      judge: {
        each: 'demand',
        about: 'calcium',
        of({ room, system, plan: { units }, settings }) {
          const alkalinity = room.analytes.get(`${system.id}/alkalinity`)?.demand.at(-1);
          const calcium = room.analytes.get(`${system.id}/calcium`)?.demand.at(-1);
          return {
            condition: outOfStepCondition(alkalinity, calcium, settings.limit, settings.deadband),
            raised() {
              const expected = (alkalinity?.perDay ?? 0) * calciumPerAlkalinity_mgL_per_dKH;
              const found = amountText('calcium', calcium?.perDay ?? 0, units);
              return `Calcium goes down by ${found} a day, but the alkalinity that goes with it calls for ${amountText('calcium', expected, units)}. Repeat both tests with care before you change a dose.`;
            },
            cleared: () => 'Calcium and alkalinity fall in proportion again.',
          };
        },
      },
    },
  },
};
