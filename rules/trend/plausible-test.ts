import { type Analyte, metricFacts } from '../quantity/metric.ts';

/** A question back to the person who typed a test. The test is kept either way: only the person can say what was meant. */
export type TestQuestion = {
  /** One or two plain sentences. */
  ask: string;
  /** What the number may have meant, in the analyte's store unit. */
  meant?: { value: number; unit: string; because: string };
};

/** A slip that turns a true value into the typed one: typed = true value × factor. */
type Slip = { factor: number; typedAs: string };

/** Where an analyte lies in any water that keeps corals alive or is on its way there, store units. */
type Plausible = { low: number; high: number; usualSd: number; slips: readonly Slip[] };

const decimalSlips: readonly Slip[] = [
  { factor: 10, typedAs: 'a decimal point left out' },
  { factor: 0.1, typedAs: 'a decimal point one place too far left' },
];

/**
 * @source common practice, no published source (ranges). Factors: 1 dKH = 17.848 mg/L CaCO3 = 0.35665 meq/L
 *   (fixtures/reference/unit-conversions.csv); CaCO3 against Ca 2.4973, CaCO3 against Mg 4.1179, mmol by the atomic weights
 *   40.078 and 24.305 (IUPAC 2021). Specific gravity near 1.0264 is a practical salinity near 35.
 */
const plausible: Partial<Record<Analyte, Plausible>> = {
  alkalinity: {
    ...{ low: 4, high: 16, usualSd: 0.5 },
    slips: [
      { factor: 17.848, typedAs: 'mg/L CaCO3' },
      { factor: 0.35665, typedAs: 'meq/L' },
      { factor: 356.65, typedAs: 'µmol/L' },
      ...decimalSlips,
    ],
  },
  calcium: {
    ...{ low: 250, high: 650, usualSd: 25 },
    slips: [{ factor: 2.4973, typedAs: 'mg/L CaCO3' }, { factor: 1 / 40.078, typedAs: 'mmol/L' }, ...decimalSlips],
  },
  magnesium: {
    ...{ low: 800, high: 1900, usualSd: 60 },
    slips: [{ factor: 4.1179, typedAs: 'mg/L CaCO3' }, { factor: 1 / 24.305, typedAs: 'mmol/L' }, ...decimalSlips],
  },
  salinity: { ...{ low: 20, high: 45, usualSd: 1 }, slips: decimalSlips },
  ph: { ...{ low: 7, high: 9.2, usualSd: 0.2 }, slips: decimalSlips },
  temperature: { ...{ low: 12, high: 35, usualSd: 1.5 }, slips: decimalSlips },
};

/** A test this many standard deviations from what was expected is asked about. */
const farSds = 5;
/** A reading of the number by a slip is offered when it lies within so many of what was expected. */
const nearSds = 4;

/**
 * Whether a typed test should be asked about before it is stored: a wrong unit (mg/L CaCO3 typed as dKH is 17.8 times too
 * much), a lost decimal point, or a number far from what the tank was expected to show.
 *
 * @param value  as typed, after conversion from the typed unit into the store unit
 * @param unit  the unit the person chose, as shown to the person
 * @param expected  level and its standard deviation by the demand filter; absent before any test
 * @returns undefined when there is nothing to ask
 */
export function questionTest(
  analyte: Analyte,
  value: number,
  unit: string,
  expected?: { level: number; levelSd: number },
): TestQuestion | undefined {
  const facts = metricFacts[analyte];
  const shown = (number: number): string => `${number.toFixed(facts.decimals)} ${facts.unit}`.trim();
  const typed = `${value} ${unit}`.trim();
  if (!Number.isFinite(value) || value < 0) return { ask: `${facts.label} cannot be ${typed}. Please type it again.` };
  const range = plausible[analyte];
  if (range === undefined) return undefined;
  const isPossible = (of: number): boolean => of >= range.low && of <= range.high;
  const distance = (of: number): number =>
    expected === undefined ? 0 : Math.abs(of - expected.level) / Math.hypot(expected.levelSd, range.usualSd);
  if (isPossible(value) && distance(value) <= farSds) return undefined;
  const meant = range.slips
    .map((slip) => ({ value: value / slip.factor, typedAs: slip.typedAs }))
    .filter((guess) => isPossible(guess.value) && distance(guess.value) <= nearSds)
    .sort((one, other) => distance(one.value) - distance(other.value))[0];
  const why = isPossible(value)
    ? `${typed} is far from the ${shown(expected!.level)} expected now.`
    : `${typed} is outside ${shown(range.low)} to ${shown(range.high)}, where a reef tank can be.`;
  if (analyte === 'salinity' && value > 1 && value < 1.05) {
    return { ask: `${typed} looks like a specific gravity. Choose that unit, or type the practical salinity.` };
  }
  if (meant !== undefined) {
    const because = meant.typedAs;
    const rounded = Number(meant.value.toFixed(facts.decimals + 1));
    return {
      ask: `${facts.label}: ${why} Typed as ${because}, did you mean ${shown(meant.value)}?`,
      meant: { value: rounded, unit: facts.unit, because },
    };
  }
  return {
    ask: `${facts.label}: ${why} Is the number right? If so, test again soon: one test alone will not be trusted.`,
  };
}
