import { finite } from './finite.ts';
import { type Metric, metricFacts, metrics } from './metric.ts';
import { within } from './out-of-range.ts';
import { type Unit, unitTable } from './unit-table.ts';
import { UnknownUnit } from './unknown-unit.ts';

/**
 * A number in the metric's store unit, from one in any unit that the metric may have.
 *
 * @param value  finite
 * @param unit  any accepted spelling, in any case, with µ or u; empty for a pure number
 * @returns the value in `metricFacts[metric].unit`
 * @throws UnknownUnit  for a unit that this metric cannot have; it names the allowed ones
 * @throws OutOfRange  for NaN, an infinity, or a temperature below absolute zero
 * @source factors in unit-table.ts; checked against fixtures/reference/unit-conversions.csv
 */
export function toStoreUnit(metric: Metric, value: number, unit: string): number {
  const { factor, shift = 0 } = unitOf(metric, unit);
  const stored = (value + shift) * factor;
  const quantity = `${metricFacts[metric].label}, ${unit || 'no unit'}`;
  return metric === 'temperature' ? within(quantity, stored, -273.15, Number.MAX_VALUE) : finite(quantity, stored);
}

/**
 * A stored value in the unit in which a person wants to see it: the inverse of toStoreUnit.
 *
 * @param value  in the store unit, finite
 * @param unit  any accepted spelling
 * @throws UnknownUnit  as toStoreUnit
 * @throws OutOfRange  for NaN or an infinity
 */
export function fromStoreUnit(metric: Metric, value: number, unit: string): number {
  const { factor, shift = 0 } = unitOf(metric, unit);
  return finite(`${metricFacts[metric].label}, ${unit || 'no unit'}`, value / factor - shift);
}

/** The units that a metric may have, each in the spelling to show, the store's own first. Empty text: a pure number. */
export function unitsOf(metric: Metric): string[] {
  return unitTable[metric].map((unit) => unit.name);
}

/** True when toStoreUnit knows this spelling for this metric. */
export function isUnitOf(metric: Metric, unit: string): boolean {
  return byPlainSpelling[metric].has(plain(unit));
}

function unitOf(metric: Metric, unit: string): Unit {
  const found = byPlainSpelling[metric].get(plain(unit));
  if (found === undefined) throw new UnknownUnit(metric, unit, unitsOf(metric));
  return found;
}

/**
 * One spelling for the many of one unit: both micro signs are u, superscripts are digits, blanks are single and "as" before
 * a compound goes. Case does not count: no metric has two units that differ in it alone, and probes write dkh, MG/L, us/cm.
 */
function plain(spelling: string): string {
  return spelling
    .normalize('NFKC')
    .toLowerCase()
    .replaceAll('\u03bc', 'u')
    .replaceAll('\u2212', '-')
    .replace(/\bas (?=caco3|no3|po4|n\b|p\b)/, '')
    .replace(/\s+/g, ' ')
    .trim();
}

/** Made once: a busy room converts a thousand readings a second. */
const byPlainSpelling = Object.fromEntries(
  metrics.map((metric) => [
    metric,
    new Map(unitTable[metric].flatMap((unit) => [unit.name, ...(unit.also ?? [])].map((text) => [plain(text), unit]))),
  ]),
) as Record<Metric, Map<string, Unit>>;
