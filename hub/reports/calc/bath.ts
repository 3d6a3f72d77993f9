import { dipBath, mostSoakMinutes, type ReagentDose } from '#rules/arrivals/bath.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { Calculation, Given } from './calculation.ts';

const doseEnding = '_ml_per_l';
const labelLow = (name: string): string => `${name}_label_low${doseEnding}`;
const labelHigh = (name: string): string => `${name}_label_high${doseEnding}`;

/** The reagents that a table's columns name: `iodine_ml_per_l` is the dose of `iodine`. In the order of the columns. */
export function reagentsOfColumns(columns: readonly string[]): string[] {
  return columns
    .filter((column) => column.endsWith(doseEnding) && column.length > doseEnding.length)
    .map((column) => column.slice(0, -doseEnding.length))
    .filter((name) => !name.endsWith('_label_low') && !name.endsWith('_label_high'));
}

/**
 * The cells behind the flag `--reagent name=ml_per_l` or `name=ml_per_l:low-high` with the label's range.
 *
 * @throws Refused  for another form, or a reagent given twice
 */
export function reagentFlag(text: string, before: Readonly<Record<string, string>> = {}): Record<string, string> {
  const form = /^\s*([^=]+?)\s*=\s*([^:\s]+)\s*(?::\s*([\d.]+)\s*-\s*([\d.]+)\s*)?$/.exec(text);
  const [, name, dose, low, high] = form ?? [];
  if (name === undefined || dose === undefined) {
    throw new Refused(
      'no_answer',
      `--reagent: found "${text.slice(0, 60)}", need name=ml_per_l, or name=ml_per_l:low-high with the label's range`,
    );
  }
  if (Object.hasOwn(before, `${name}${doseEnding}`))
    throw new Refused('no_answer', `--reagent: ${name} is given twice`);
  return {
    ...before,
    [`${name}${doseEnding}`]: dose,
    ...(low === undefined || high === undefined ? {} : { [labelLow(name)]: low, [labelHigh(name)]: high }),
  };
}

/** An empty cell: this reagent is not in this row's bath. */
function doseGiven(given: Given, name: string): ReagentDose[] {
  const dose_mL_L = given.optionalNumber(`${name}${doseEnding}`);
  if (dose_mL_L === undefined) return [];
  const [low_mL_L, high_mL_L] = [given.optionalNumber(labelLow(name)), given.optionalNumber(labelHigh(name))];
  if ((low_mL_L === undefined) !== (high_mL_L === undefined)) {
    throw new Refused('no_answer', `label of ${name}: need both its lowest and its highest mL per litre`);
  }
  return [
    {
      name,
      dose_mL_L,
      ...(low_mL_L === undefined || high_mL_L === undefined ? {} : { label: { low_mL_L, high_mL_L } }),
    },
  ];
}

/** Volumes of a dip bath with these reagents. */
export function bathCalculation(reagents: readonly string[]): Calculation {
  return {
    name: 'bath',
    summary: 'Volumes of a dip bath: from the tank, from the bags, new salt water, and mL of each reagent',
    inputs: [
      { name: 'bath_l', help: 'the dip bath, litres' },
      { name: 'tank_share', help: 'part of it from the tank, 0.5 to 1' },
      { name: 'bag_share', help: 'part of it from the bags; with tank_share 1' },
      { name: 'rinse_l', help: 'rinse bath in new salt water, litres; counted in fresh_l; none unless given' },
      { name: 'soak_minutes', help: `by the label, at most ${mostSoakMinutes}; the maximum unless given` },
    ],
    results: ['tank_l', 'bag_l', 'fresh_l', ...reagents.map((name) => `${name}_ml`), 'soak_minutes', 'cautions'],
    compute(given) {
      const [rinseL, soakMinutes] = [given.optionalNumber('rinse_l'), given.optionalNumber('soak_minutes')];
      const bath = dipBath({
        bathL: given.number('bath_l'),
        tankShare: given.number('tank_share'),
        bagShare: given.number('bag_share'),
        reagents: reagents.flatMap((name) => doseGiven(given, name)),
        ...defined({ rinseL, soakMinutes }),
      });
      return {
        tank_l: bath.tankL,
        bag_l: bath.bagL,
        fresh_l: bath.freshL,
        ...Object.fromEntries(bath.reagents.map(({ name, volume_mL }) => [`${name}_ml`, volume_mL])),
        soak_minutes: bath.soakMinutes,
        cautions: bath.cautions.join(' '),
      };
    },
  };
}
