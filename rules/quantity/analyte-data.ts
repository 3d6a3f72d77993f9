import type { Unit } from './unit-forms.ts';

/** Limits of one stream's checks, in the metric's store unit. An absent limit switches its test off. */
export type StreamChecks = {
  /** Outside: the sensor cannot measure it, or nature cannot have it. */
  failBelow?: number;
  failAbove?: number;
  /** Outside: no reef lives there, so the probe is doubted first. */
  suspectBelow?: number;
  suspectAbove?: number;
  /** Most distance from the median of the last values before a value counts as a spike. */
  spike?: number;
  /** How fast sound water may move all the same, for each minute: sparse readings lie further apart. */
  movesPerMinute?: number;
  /** Most change for each minute since the reading before. */
  mostPerMinute?: number;
  /** Hours within `flatWithin` before a value counts as stuck. */
  flatSuspectHours?: number;
  flatFailHours?: number;
  flatWithin?: number;
  /** A pause longer than this many minutes starts the tests that look back again. */
  gapMinutes: number;
};

/**
 * What is taken as known of an analyte before the first test of a system. All of it is wide and gives way to the tests.
 * Levels in the analyte's own unit (dKH, or mg/L), demand in that unit a day.
 */
export type DemandFacts = {
  /** Standard deviation of one test by a usual drop or syringe kit, when the test does not state its own. */
  usualTestSd: number;
  /** Standard deviation of a wrong test's error: a slip of the syringe, a bubble, old reagent. */
  outlierSd: number;
  /** Standard deviation of a true jump that nobody logged: a forgotten dose, a spill, a wrong top-up. */
  jumpSd: number;
  /** Demand before anything is known. */
  firstDemand: number;
  firstDemandSd: number;
  /** A demand smaller than this wanders as if it were this large. */
  leastDemand: number;
  /** Level noise that is neither dose nor demand (top-up, skimmed wet), unit for each square root of a day. */
  levelSd: number;
  /** Usual level of new salt water and its spread, for a water change whose water was not tested. */
  newWater: { level: number; sd: number };
  /** A usual kit shows 0 below this: such a reading says "less than that" and is not zero. Absent where nobody meets it. */
  detectionLimit?: number;
};

/** What advice takes as given for an analyte where the keeper has said nothing else. */
export type AdviceData = {
  /** Most net rise or fall a day when the band does not say. */
  mostPerDay: number;
  /** A rise by one dose beyond twice this is asked about, where no band says how much a day may move it. */
  askedAbovePerDay: number;
  /** A test older than this many days does not carry a dose when the keeper has set no interval of his own. */
  testGoodForDays: number;
  /** The usual pause between tests where neither the keeper nor the tests tell one, days. */
  rhythmDays: number;
  /** True for what food brings: it rises by itself, and that is no fault. */
  comesWithFood?: boolean;
};

/** An analyte of the water that people test: all that the hub knows of it, in one place. */
export type AnalyteData = {
  /** How a person reads it, in a sentence or as a heading. */
  label: string;
  /** The one unit in which the store keeps it. */
  unit: string;
  /** Decimals that mean something on a screen or a phone line. */
  decimals: number;
  /** What a test can read at all, in the store unit: beyond it the unit or a digit is wrong. */
  testRange: readonly [low: number, high: number];
  /** The unit as the end of a column's name, in the spelling of the tables that the hub reads. */
  unitEnding: string;
  /** The units that it may have; the first is the store's own. */
  units: readonly Unit[];
  /** Those that kits count in, the usual one first. */
  kitUnits: readonly string[];
  /** Of a stream from an analyser: a slipped decimal point or a wrong unit leaves these ranges. */
  checks: Omit<StreamChecks, 'gapMinutes'>;
  /** How bad it is out of its band, and days between two tests once the keeper tests it at all. */
  outOfBand: 'high' | 'medium' | 'low';
  testEveryDays: number;
  /** The quantity that a dose of a substance raises: its name with the unit, and what a mole of it weighs; absent for alkalinity. */
  quantity: string;
  ion?: { g_mol: number; perGram: number };
  demand: DemandFacts;
  advice: AdviceData;
};
