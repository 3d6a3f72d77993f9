import { adviceFacts } from '#rules/dosing/advice-facts.ts';
import { type Analyte, metricFacts } from '#rules/quantity/metric.ts';
import { isUnitOf } from '#rules/quantity/unit.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import { questionGravity, questionTest, type TestQuestion } from '#rules/trend/plausible-test.ts';
import { salinityOfGravity, sgUnit } from '../../flow/entries/gravity-entry.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import type { EntryDoubt } from '../../model/refusals/questioned.ts';
import { risesOfDose } from './dose-rise.ts';

/** More of the water than this at once is a rescue or a slip. common practice, no published source */
const largeShare = 0.5;

/** New water as a person gives it with a water change: dKH, mg/L, practical salinity. */
export type NewWater = {
  volume_l: number;
  alkalinity_dkh?: number | undefined;
  calcium_mg_l?: number | undefined;
  magnesium_mg_l?: number | undefined;
  salinity?: number | undefined;
};

/** A doubt about a test as it was typed; undefined when it looks right. @param expected  as for questionTest */
export function doubtAboutTest(
  analyte: Analyte,
  value: number,
  unit: string,
  expected: Parameters<typeof questionTest>[3],
): EntryDoubt | undefined {
  const isGravity = analyte === 'salinity' && unit === sgUnit;
  // A unit that the analyte cannot have is refused by the entry itself, with its own words.
  if (!isGravity && !isUnitOf(analyte, unit)) return undefined;
  const question = isGravity ? questionGravity(value) : questionTest(analyte, value, unit, expected);
  if (question === undefined) return undefined;
  const { ask, meant } = question;
  const typed = `${value} ${unit}`.trim();
  if (meant === undefined) return { ask, typed };
  const say = meant.unit === sgUnit ? `specific gravity ${meant.value}` : `${meant.value} ${meant.unit}`.trim();
  return { ask, typed, meant: { say, change: { value: meant.value, unit: meant.unit } } };
}

/** A doubt about a water change; undefined when it looks right. */
export function questionWaterChange(system: SystemConfig, water: NewWater): EntryDoubt | undefined {
  const given = [
    ['alkalinity', 'alkalinity_dkh', 'dKH'],
    ['calcium', 'calcium_mg_l', 'mg/L'],
    ['magnesium', 'magnesium_mg_l', 'mg/L'],
    ['salinity', 'salinity', ''],
  ] as const;
  for (const [analyte, field, unit] of given) {
    const value = water[field];
    // Fresh water is put in on purpose.
    if (value === undefined || (analyte === 'salinity' && value === 0)) continue;
    const question = questionTest(analyte, value, unit);
    if (question !== undefined) return { ...doubtAboutNewWater(question, field), typed: `${value} ${unit}`.trim() };
  }
  if (water.volume_l > largeShare * system.volume_l) {
    const share = Math.round((100 * water.volume_l) / system.volume_l);
    const ask = `${water.volume_l} L is ${share} % of the ${system.volume_l} L of ${system.name}. Is the number right?`;
    return { ask, typed: `${water.volume_l} L` };
  }
  return undefined;
}

function doubtAboutNewWater({ ask, meant }: TestQuestion, field: keyof NewWater): Omit<EntryDoubt, 'typed'> {
  if (meant === undefined) return { ask: `New water. ${ask}` };
  const isGravity = meant.unit === sgUnit;
  const value = isGravity ? Number(salinityOfGravity({ value: meant.value }).toFixed(2)) : meant.value;
  const say = isGravity ? `salinity ${value}` : `${value} ${meant.unit}`.trim();
  return { ask: `New water. ${ask}`, meant: { say, change: { [field]: value } } };
}

/** What a person types one place too far. */
const decimalSlip = 10;

/**
 * A doubt about a dose that was given; undefined when it looks right: ten times a usual one is a decimal point, and every
 * estimate after it would be wrong.
 *
 * @param body  `stock` and `ml`, or `substance` and `grams`
 */
export function questionDose(system: SystemConfig, body: Record<string, unknown>): EntryDoubt | undefined {
  // A copy: what is kept by body must not remember one that was never stored.
  const rises = risesOfDose(system, { ...body });
  for (const analyte of demandAnalytes) {
    const mostPerDay = system.bands[analyte]?.most_per_day ?? adviceFacts[analyte].askedAbovePerDay;
    const rise = rises[analyte] ?? 0;
    if (rise <= 2 * mostPerDay) continue;
    const [field, unit] = body['ml'] === undefined ? (['grams', 'g'] as const) : (['ml', 'mL'] as const);
    const amount = Number(body[field]);
    const doubt = {
      ask:
        `This would raise ${analyte} by ${rise.toPrecision(2)} ${metricFacts[analyte].unit} at once, ` +
        `more than it may rise in two days. Is the number right?`,
      typed: `${amount} ${unit}`,
    };
    const meant = Number((amount / decimalSlip).toPrecision(12));
    if (rise / decimalSlip > 2 * mostPerDay) return doubt;
    return { ...doubt, meant: { say: `${meant} ${unit}`, change: { [field]: meant } } };
  }
  return undefined;
}
