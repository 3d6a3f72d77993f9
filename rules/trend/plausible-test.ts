import { type Analyte, metricFacts } from '../quantity/metric.ts';
import { toStoreUnit, unitsOf } from '../quantity/unit.ts';
import { practicalSalinityFromConductivity } from '../seawater/practical-salinity.ts';
import {
  salinityFromSpecificGravity,
  specificGravityFromSalinity,
  specificGravityPairs,
} from '../seawater/specific-gravity.ts';
import { bandText, shownAs } from '../words/value-text.ts';

/** A question back to the person who typed a test. Nothing is kept before the answer: only the person can say what was meant. */
export type TestQuestion = {
  /** One or two plain sentences. */
  ask: string;
  /** What the number most likely meant, as it would be typed rightly. */
  meant?: { value: number; unit: string; because: string };
};

/** Where an analyte lies in any water that keeps corals alive or is on its way there, store units. */
type Plausible = { low: number; high: number; usualSd: number };

/** @source common practice, no published source */
const plausible: Partial<Record<Analyte, Plausible>> = {
  alkalinity: { low: 4, high: 16, usualSd: 0.5 },
  calcium: { low: 250, high: 650, usualSd: 25 },
  magnesium: { low: 800, high: 1900, usualSd: 60 },
  salinity: { low: 20, high: 45, usualSd: 1 },
  ph: { low: 7, high: 9.2, usualSd: 0.2 },
  temperature: { low: 12, high: 35, usualSd: 1.5 },
};

/** What a finger or a comma does to a number. Exact powers of ten. */
const decimalSlips = [
  { factor: 10, because: 'decimal point left out' },
  { factor: 0.1, because: 'decimal point one place too far left' },
];

/** A test this many standard deviations from what was expected is asked about. */
const farSds = 5;
/** A reading of the number by a slip is offered when it lies within so many of what was expected. */
const nearSds = 4;
/** No unit of any analyte makes a number as large; beyond it there is nothing to guess, and other units overflow. Chosen here. */
const mostTyped = 1e6;
/** Between these a salinity is none: salt water as a hydrometer shows it. */
const looksLikeGravity = { above: 1, below: 1.05 };

/** `stored` in the store unit, for the judgement; `value` and `unit` as it would be typed rightly. */
type Guess = { stored: number; value: number; unit: string; because: string };

/** The typed number as one of another unit of the analyte, or with its decimal point moved. */
function guessesOf(analyte: Analyte, value: number, unit: string): Guess[] {
  const store = metricFacts[analyte].unit;
  const inUnits = unitsOf(analyte)
    .filter((other) => toStoreUnit(analyte, 1, other) !== toStoreUnit(analyte, 1, unit))
    .map((other): Guess => {
      const stored = toStoreUnit(analyte, value, other);
      // The store's own unit is the one that people know best; else the answer is in the unit that was chosen.
      if (other === store) return { stored, value, unit: other, because: `${value} ${other}`.trim() };
      const { of, decimals } = shownAs(analyte, stored, { [analyte]: unit });
      return { stored, value: Number(of(stored).toFixed(decimals)), unit, because: `${value} ${other}` };
    });
  const inDecimals = decimalSlips.map(({ factor, because }): Guess => {
    const right = Number((value / factor).toPrecision(12));
    return { stored: toStoreUnit(analyte, right, unit), value: right, unit, because };
  });
  return [...inUnits, ...inDecimals];
}

/** What a specific gravity typed as a salinity means, on the scale that the hub shows. */
function gravityMeant(value: number, typed: string): TestQuestion {
  const pair = specificGravityPairs['25/25'];
  if (value > specificGravityFromSalinity(42, pair))
    return { ask: `Salinity cannot be ${typed}, and no salt water has that specific gravity. Please enter it again.` };
  const salinity = salinityFromSpecificGravity(value, pair).toFixed(1);
  return {
    ask: `${typed} is no salinity. Did you mean specific gravity ${value}, salinity ${salinity}?`,
    meant: { value, unit: 'sg', because: 'a specific gravity' },
  };
}

/** As meters show it, and how many mS/cm one of it is. */
const conductivityUnits = [
  { unit: 'mS/cm', mS_cm: 1 },
  { unit: 'µS/cm', mS_cm: 0.001 },
  { unit: 'S/m', mS_cm: 10 },
];

/** A conductivity typed as a salinity. What it means hangs on the temperature, so that nothing is offered to be stored. */
function conductivityMeant(value: number, why: string): TestQuestion | undefined {
  for (const { unit, mS_cm } of conductivityUnits) {
    const conductivity_mS_cm = value * mS_cm;
    if (!(conductivity_mS_cm > 30 && conductivity_mS_cm < 70)) continue;
    const salinity = practicalSalinityFromConductivity(conductivity_mS_cm, 25).toFixed(1);
    return {
      ask: `${why} Is it a conductivity in ${unit}? At 25 °C that is salinity ${salinity}.`,
    };
  }
  return undefined;
}

/**
 * Whether a typed test should be asked about before it is stored: a wrong unit (mg/L CaCO3 typed as dKH is 17.8 times too
 * much), a lost decimal point, or a number far from what the tank was expected to show.
 *
 * @param value  as typed
 * @param unit  the unit in which it was typed, one that the analyte may have
 * @param expected  level and its standard deviation by the demand filter, store unit; absent before any test
 * @returns undefined when there is nothing to ask
 * @throws UnknownUnit  for a unit that the analyte cannot have
 * @source units by rules/quantity/unit-table.ts; ranges above
 */
export function questionTest(
  analyte: Analyte,
  value: number,
  unit: string,
  expected?: { level: number; levelSd: number },
): TestQuestion | undefined {
  const { label } = metricFacts[analyte];
  const typed = `${value} ${unit}`.trim();
  const isThinkable = Math.abs(value) <= mostTyped && (value >= 0 || analyte === 'temperature');
  if (!isThinkable) return { ask: `${label} cannot be ${typed}. Please enter it again.` };
  const range = plausible[analyte];
  if (range === undefined) return undefined;
  const isPossible = (of: number): boolean => of >= range.low && of <= range.high;
  const distance = (of: number): number =>
    expected === undefined ? 0 : Math.abs(of - expected.level) / Math.hypot(expected.levelSd, range.usualSd);
  const stored = toStoreUnit(analyte, value, unit);
  if (isPossible(stored) && distance(stored) <= farSds) return undefined;
  if (analyte === 'salinity' && value > looksLikeGravity.above && value < looksLikeGravity.below)
    return gravityMeant(value, typed);
  const shown = { [analyte]: unit };
  const why =
    isPossible(stored) && expected !== undefined
      ? `${typed} is far from the expected ${expectedText(analyte, expected.level, unit)}.`
      : `${typed} is outside ${bandText(analyte, range, shown)}, where a reef tank can be.`;
  const [meant] = guessesOf(analyte, value, unit)
    .filter((guess) => isPossible(guess.stored) && distance(guess.stored) <= nearSds)
    .sort((one, other) => distance(one.stored) - distance(other.stored));
  const conductivity =
    meant === undefined && analyte === 'salinity' ? conductivityMeant(value, `${label}: ${why}`) : undefined;
  if (conductivity !== undefined) return conductivity;
  if (meant === undefined)
    return { ask: `${label}: ${why} Is the number right? If so, test again soon: one odd test alone is not trusted.` };
  const right = `${meant.value} ${meant.unit}`.trim();
  const because = meant.because === right ? '' : ` (${meant.because})`;
  return {
    ask: `${label}: ${why} Did you mean ${right}${because}?`,
    meant: { value: meant.value, unit: meant.unit, because: meant.because },
  };
}

/**
 * Whether a number typed as a specific gravity is none: salt water lies between 1 and 1.05, and a salinity was typed.
 *
 * @returns undefined when it can be a specific gravity
 */
export function questionGravity(value: number): TestQuestion | undefined {
  if (value >= looksLikeGravity.above && value < looksLikeGravity.below) return undefined;
  const { low, high } = plausible.salinity ?? { low: 0, high: 0 };
  const ask = `Salinity: ${value} is no specific gravity, which lies between 1 and 1.05 in salt water.`;
  if (value < low || value > high) return { ask: `${ask} Please enter it again.` };
  return { ask: `${ask} Did you mean salinity ${value}?`, meant: { value, unit: '', because: 'a salinity' } };
}

function expectedText(analyte: Analyte, level: number, unit: string): string {
  const { of, decimals, unit: name } = shownAs(analyte, level, { [analyte]: unit });
  return `${of(level).toFixed(decimals)} ${name}`.trim();
}
