import { substanceNamed } from '#rules/dosing/substances.ts';
import { analyteData, isTestedAnalyte } from '#rules/quantity/analyte-table.ts';
import { type Analyte, metricFacts } from '#rules/quantity/metric.ts';
import { fromStoreUnit } from '#rules/quantity/unit.ts';
import type { SystemConfig } from '../../model/config/schema.ts';

/**
 * What was saved, in the same words on the page, at the command line and on the phone: the value and its unit, which a
 * person can hold against the test kit, and no number of the record.
 */
export function savedTest(analyte: Analyte, value: number, unit: string): string {
  const { label } = metricFacts[analyte];
  const name = label.startsWith('p') ? label : label.toLowerCase();
  const { detectionLimit } = isTestedAnalyte(analyte) ? analyteData(analyte).demand : {};
  if (detectionLimit !== undefined && value === 0)
    return `Saved: ${name} below ${Number(fromStoreUnit(analyte, detectionLimit, unit).toPrecision(2))} ${unit}`.trimEnd();
  return `Saved: ${unit === 'sg' ? 'specific gravity' : name} ${value} ${unit === 'sg' ? '' : unit}`.trimEnd();
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
