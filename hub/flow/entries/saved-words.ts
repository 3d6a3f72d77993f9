import { substanceNamed } from '#rules/dosing/substances.ts';
import { analyteData, isTestedAnalyte } from '#rules/quantity/analyte-table.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { fromStoreUnit } from '#rules/quantity/unit.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';

/**
 * What was saved, in the same words on the page, at the command line and on the phone: the value and its unit, which a
 * person can hold against the test kit, and no number of the record.
 */
export function savedTest({ analyte, value, given_value, given_unit, kit }: BodyOf<'test'>, kitName?: string): string {
  const { label, unit } = metricFacts[analyte];
  const name = /^[A-Z][a-z]/.test(label) ? label.charAt(0).toLowerCase() + label.slice(1) : label;
  const { detectionLimit } = isTestedAnalyte(analyte) ? analyteData(analyte).demand : {};
  if (detectionLimit !== undefined && given_value === 0) {
    const limit = Number(fromStoreUnit(analyte, detectionLimit, given_unit).toPrecision(2));
    return `Saved: ${name} below ${limit} ${given_unit}`.trimEnd();
  }
  const isGravity = given_unit === 'sg';
  const said =
    `Saved: ${isGravity ? 'specific gravity' : name} ${given_value} ${isGravity ? '' : given_unit}`.trimEnd();
  if (kit === undefined || kit.bias === 0) return said;
  const counted = `${Number(value.toPrecision(3))} ${unit}`.trimEnd();
  return `${said}, counted as ${counted} by what is known of ${kitName ?? kit.id}`;
}

type Given = {
  stock?: string | undefined;
  ml?: number | undefined;
  substance?: string | undefined;
  grams?: number | undefined;
};

export function savedDose(system: SystemConfig, { stock, ml, substance, grams }: Given): string {
  if (stock !== undefined) return `Saved: ${ml} mL of ${nameOf(system, stock)}`;
  return `Saved: ${grams} g of ${substanceNamed(substance ?? '')?.label.toLowerCase() ?? substance}`;
}

export function savedWaterChange(volumeL: number): string {
  return `Saved: water change of ${volumeL} L`;
}

export function savedPlan(system: SystemConfig, stock: string, mlPerDay: number): string {
  return `Saved: ${nameOf(system, stock)} ${mlPerDay} mL a day`;
}

export function savedRefill(system: SystemConfig, stock: string, ml: number): string {
  return `Saved: ${nameOf(system, stock)} refilled, ${ml} mL`;
}

function nameOf(system: SystemConfig, stock: string): string {
  return system.stocks.find(({ id }) => id === stock)?.name ?? stock;
}
