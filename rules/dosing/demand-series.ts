import { defined } from '../plain-data/defined.ts';
import { within } from '../quantity/out-of-range.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import { type DemandEvidence, demandEstimate, startDemand, stepDemand } from '../trend/demand-filter.ts';
import { adviceFacts } from './advice-facts.ts';
import { riseFromDose } from './stoichiometry.ts';
import { substanceNamed } from './substances.ts';

/** One test, value and sd in the analyte's store unit (dKH or mg/L). */
export type TestRow = { timeMs: number; system: string; analyte: string; value: number; sd?: number };
/** One dose of a substance by any name that `substanceNamed` knows, grams of the solid. */
export type DoseRow = { timeMs: number; system: string; substance: string; grams: number };
/** One water change; the new water's levels where they are known. */
export type WaterChangeRow = { timeMs: number; system: string; volumeL: number } & Partial<
  Record<(typeof waterColumns)[keyof typeof waterColumns], number>
>;

const waterColumns = { alkalinity: 'alkalinity_dKH', calcium: 'calcium_mg_L', magnesium: 'magnesium_mg_L' } as const;

export type DemandRow = {
  timeMs: number;
  system: string;
  analyte: DemandAnalyte;
  /** After using the test. */
  level: number;
  levelSd: number;
  demandPerDay: number;
  demandSd: number;
  suspect: boolean;
};

export type SeriesOptions = {
  volumeL: number;
  analyte: DemandAnalyte;
  /** Smallest step of the kit's scale, in the analyte's unit. */
  resolution?: number;
};

type Entry = { timeMs: number; evidence: DemandEvidence };

/**
 * Level and demand at each test of one analyte, computed only from what was known by then. Rows of other analytes are
 * passed over; each system is followed on its own. Of the same time, a test counts before a dose, a dose before a water change.
 *
 * @param tests  in any order
 * @param doses  of any substance; one that adds nothing to the analyte changes nothing
 * @returns one row for each test, ordered by system and then time
 * @throws OutOfRange  for a volume of 0 or less, negative grams, numbers that are not finite
 * @throws UnknownSubstance  for a dose of a name that is not in the table of substances
 */
export function estimateSeries(
  tests: readonly TestRow[],
  doses: readonly DoseRow[],
  waterChanges: readonly WaterChangeRow[],
  options: SeriesOptions,
): DemandRow[] {
  const { analyte, resolution } = options;
  const ofAnalyte = tests.filter((test) => test.analyte === analyte);
  const systems = [...new Set(ofAnalyte.map((test) => test.system))].sort();
  return systems.flatMap((system) => {
    const entries = demandEvidence(
      ofAnalyte.filter((test) => test.system === system),
      doses.filter((dose) => dose.system === system),
      waterChanges.filter((change) => change.system === system),
      options,
    );
    let state = startDemand({ analyte, ...defined({ resolution }) });
    return entries.flatMap(({ timeMs, evidence }) => {
      state = stepDemand(state, evidence, timeMs);
      const estimate = evidence.is === 'test' ? demandEstimate(state, timeMs) : undefined;
      if (estimate === undefined) return [];
      const { level, levelSd, demandPerDay, demandSd, suspect } = estimate;
      return [{ timeMs, system, analyte, level, levelSd, demandPerDay, demandSd, suspect }];
    });
  });
}

/** Tests, doses and water changes of one system and analyte as evidence for the demand filter, oldest first. */
export function demandEvidence(
  tests: readonly TestRow[],
  doses: readonly DoseRow[],
  waterChanges: readonly WaterChangeRow[],
  options: SeriesOptions,
): { timeMs: number; evidence: DemandEvidence }[] {
  const volumeL = within('volume, L', options.volumeL, 0.001, 1e7);
  const entries: Entry[] = tests.map(({ timeMs, value, sd }) => ({
    timeMs,
    evidence: { is: 'test', value, ...defined({ sd }) },
  }));
  for (const { timeMs, substance, grams } of doses) {
    const rise = riseOfDose(substance, grams, volumeL, options.analyte);
    if (rise !== 0) entries.push({ timeMs, evidence: { is: 'dose', rise } });
  }
  for (const change of waterChanges) {
    const column = Object.entries(waterColumns).find(([analyte]) => analyte === options.analyte)?.[1];
    const newLevel = column === undefined ? undefined : change[column];
    // More than the whole volume can pass through in one long change; the water is then wholly new.
    const share = Math.min(1, within('volume of the water change, L', change.volumeL, 0, 1e7) / volumeL);
    const evidence = { is: 'water_change' as const, share, ...defined({ newLevel }) };
    entries.push({ timeMs: change.timeMs, evidence });
  }
  // Of the same time they stay in the order in which they stand: tests, doses, water changes.
  return entries.sort((one, other) => one.timeMs - other.timeMs);
}

function riseOfDose(name: string, grams: number, volumeL: number, analyte: DemandAnalyte): number {
  const substance = substanceNamed(name);
  if (substance === undefined) throw new UnknownSubstance(name);
  return riseFromDose(substance, grams, volumeL)[adviceFacts[analyte].quantity];
}

/** A dose of something whose make-up is not known: nothing can be said of what it did to the water. */
export class UnknownSubstance extends Error {
  readonly code = 'UNKNOWN_SUBSTANCE';
  readonly found: string;

  constructor(found: string) {
    super(`unknown substance "${found}"`);
    this.name = 'UnknownSubstance';
    this.found = found;
  }
}
