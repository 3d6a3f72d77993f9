import type { KeepersUnits } from '../bands/watched-room.ts';
import { within } from '../quantity/out-of-range.ts';
import { convertPh } from '../seawater/ph-scale.ts';
import { amountText, valueText } from '../words/value-text.ts';
import { freeAmmonia_mg_L, freeAmmoniaShare } from './free-ammonia.ts';

export const shockMetrics = ['temperature', 'salinity', 'ph'] as const;

export type ShockMetric = (typeof shockMetrics)[number];

/** What was measured in a bag, a bath or a tank: °C, practical salinity, pH as an aquarium electrode shows it (NBS). */
export type MeasuredWater = Partial<Record<ShockMetric, number>>;

/**
 * Differences that a coral is not moved through at once: °C, practical salinity, pH.
 *
 * @source common practice, no published source
 */
export const largeDifferences: Readonly<Record<ShockMetric, number>> = { temperature: 1, salinity: 1, ph: 0.3 };

export type ShockDifference = {
  metric: ShockMetric;
  from: number;
  to: number;
  /** `to` less `from`. */
  change: number;
  isLarge: boolean;
};

export type ShockVerdict = {
  /** Of the metrics known in both waters, in the order of shockMetrics. */
  differences: ShockDifference[];
  /** Not known in one of the two: measure before the corals are moved. */
  unknown: ShockMetric[];
  isLarge: boolean;
  /** For the person, one for each large difference. */
  warnings: string[];
};

/** Edges of what may be typed or read: outside them it is a slip, not water that corals came in. */
const edges: Readonly<Record<ShockMetric, [number, number]>> = { temperature: [5, 40], salinity: [0, 45], ph: [5, 10] };
const names: Readonly<Record<ShockMetric, string>> = { temperature: 'temperature', salinity: 'salinity', ph: 'pH' };

/**
 * What a coral meets when it is moved from one water into another: bag to tank, bag to bath, bath to rinse.
 *
 * @param from, to  temperature 5 to 40 °C, salinity 0 to 45, pH 5 to 10; a metric may be absent
 * @param large     as largeDifferences, by the keeper's own limits
 * @param units     in which the warnings speak
 * @throws OutOfRange  outside these limits
 */
export function shockBetween(
  from: MeasuredWater,
  to: MeasuredWater,
  large: Readonly<Record<ShockMetric, number>> = largeDifferences,
  units: KeepersUnits = {},
): ShockVerdict {
  const differences: ShockDifference[] = [];
  const unknown: ShockMetric[] = [];
  for (const metric of shockMetrics) {
    const [before, after] = [known(metric, from), known(metric, to)];
    if (before === undefined || after === undefined) {
      unknown.push(metric);
      continue;
    }
    const change = after - before;
    // A hair wide, so that 26.3 less 25.3 is the one degree that it says and not more.
    differences.push({ metric, from: before, to: after, change, isLarge: Math.abs(change) > large[metric] + 1e-9 });
  }
  const warnings = differences
    .filter(({ isLarge }) => isLarge)
    .map((found) => warningText(found, large[found.metric], units));
  return { differences, unknown, isLarge: warnings.length > 0, warnings };
}

function known(metric: ShockMetric, water: MeasuredWater): number | undefined {
  const value = water[metric];
  return value === undefined ? undefined : within(names[metric], value, ...edges[metric]);
}

function warningText({ metric, from, to, change }: ShockDifference, most: number, units: KeepersUnits): string {
  const sense = change > 0 ? 'rise' : 'fall';
  const [before, after] = [valueText(metric, from, units), valueText(metric, to, units)];
  const text = `${names[metric]} would ${sense} from ${before} to ${after}, more than ${amountText(metric, most, units)} at once.`;
  return metric === 'ph' ? text : text.charAt(0).toUpperCase() + text.slice(1);
}

/** A pH rise of this much about doubles the free ammonia: 10^0.3 = 2.0. */
const ammoniaPhRise = 0.3;

/**
 * Free ammonia above which a bag is hurried, mg/L NH3.
 *
 * @source 0.035 mg/L, the chronic criterion of US EPA 440/5-88-004 (1989) for salt water; from memory. It was set for fish
 *   and invertebrates, corals were not among them.
 */
export const mostFreeAmmonia_mg_L = 0.035;

export type AmmoniaInBag = {
  /** Part of total ammonia that is free in the closed bag, and in its water once it has the tank's pH and temperature. */
  shareInBag: number;
  shareAtTankPh: number;
  /** How many times more. */
  factor: number;
  /** When total ammonia was tested, mg/L NH3. */
  freeInBag_mg_L?: number;
  freeAtTankPh_mg_L?: number;
  /** Be short, temperature first. */
  isWarned: boolean;
  text: string;
};

/**
 * What the tank's pH makes of the ammonia in a bag. In a closed bag carbon dioxide lowers the pH and keeps ammonia bound as
 * ammonium; opened, aired or mixed with tank water it is set free.
 *
 * @param bag   salinity 19 to 40, temperature 5 to 35 °C, pH 5 to 10 (NBS); total ammonia as nitrogen, 0 to 100 mg/L
 * @param tank  temperature 5 to 35 °C, pH 5 to 10 (NBS)
 * @throws OutOfRange  outside these limits
 * @source freeAmmoniaShare (Clegg & Whitfield 1995), pH from NBS by convertPh; the limit as mostFreeAmmonia_mg_L. The
 *   formula of US EPA 1989 finds 14 to 18 % more free ammonia at one pH: its pK is older, its scale not stated
 */
export function ammoniaInBag(
  bag: { temperature: number; salinity: number; ph: number; totalAmmonia_mg_L_N?: number },
  tank: { temperature: number; ph: number },
): AmmoniaInBag {
  within('salinity of the bag', bag.salinity, 19, 40);
  const shareAt = (ph: number, temperature_C: number) => {
    const water = { salinity: bag.salinity, temperature_C };
    return freeAmmoniaShare(convertPh(within('pH', ph, 5, 10), 'nbs', 'total', water), water);
  };
  const shareInBag = shareAt(bag.ph, bag.temperature);
  const shareAtTankPh = shareAt(tank.ph, tank.temperature);
  const factor = shareAtTankPh / shareInBag;
  const total = bag.totalAmmonia_mg_L_N;
  const free =
    total === undefined
      ? undefined
      : {
          freeInBag_mg_L: freeAmmonia_mg_L(total, shareInBag),
          freeAtTankPh_mg_L: freeAmmonia_mg_L(total, shareAtTankPh),
        };
  const doesPhRise = tank.ph - bag.ph >= ammoniaPhRise - 1e-9;
  const isWarned = free === undefined ? doesPhRise : free.freeAtTankPh_mg_L > mostFreeAmmonia_mg_L;
  const amount =
    free === undefined ? '' : ` (${free.freeInBag_mg_L.toFixed(3)} to ${free.freeAtTankPh_mg_L.toFixed(3)} mg/L NH3)`;
  const rise = `The tank's pH makes ${factor.toFixed(1)} times as much of the bag's ammonia free${amount}.`;
  const text = isWarned
    ? `${rise} Match temperature first with the bag closed; once it is open, do not air it, be short, and pour none of its water into the tank.`
    : rise;
  return { shareInBag, shareAtTankPh, factor, ...free, isWarned, text };
}
