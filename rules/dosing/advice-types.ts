import type { Band, Bands } from '../bands/watched-room.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { SubstanceId } from './substance.ts';

/** What the keeper doses from. */
export type AdviceProduct = {
  id: string;
  name: string;
  /** A pure substance of the table, or a bought solution whose label states its strength. */
  made:
    | { of: SubstanceId; gramsPerLitre?: number }
    /** What one millilitre adds to 100 litres, in the analyte's unit. */
    | { of: 'own_strength'; raises: DemandAnalyte; raises100LByPerMl: number };
  /** Most that its maker or the keeper allows in a day for each 100 litres; grams when it is weighed dry. */
  mostMlPerDayPer100L?: number;
  mostGramsPerDayPer100L?: number;
  /** Equal doses a day that the pump or the keeper gives now; 1 when absent. */
  timesPerDay?: number;
};

/** A fact of the water with its age. */
export type KnownFact = { value: number; ageMs: number; isSuspect?: boolean };

export type AdviceTest = {
  timeMs: number;
  value: number;
  sd?: number;
  isSuspect?: boolean;
};

export type AdviceInput = {
  system: { volumeL: number; band: Band; otherBands: Bands; highestPhAfterDose: number };
  analyte: DemandAnalyte;
  /** By the demand filter at `nowMs`; absent before the first test. */
  estimate?: DemandEstimate;
  /** Estimates of the other analytes of the system, for the comparison of calcium with alkalinity. */
  otherEstimates?: Partial<Record<DemandAnalyte, DemandEstimate>>;
  /** Oldest first; the last few are enough. */
  lastTests: readonly AdviceTest[];
  /** Rise by all doses since the oldest of `lastTests`, in the analyte's unit. */
  dosedSinceOldestTest?: number;
  /** Absent: the keeper has named none, and advice speaks of the rise alone. */
  product?: AdviceProduct;
  /** What the standing plan raises the level by, unit a day; and the levels of the others. */
  currentPlanPerDay: number;
  otherPlansPerDay?: Partial<Record<DemandAnalyte, number>>;
  water: {
    salinity?: KnownFact;
    temperature_C?: KnownFact;
    phTotal?: KnownFact;
    alkalinity_dKH?: KnownFact;
    calcium_mg_L?: KnownFact;
    magnesium_mg_L?: KnownFact;
  };
  /** Days between tests that the keeper has set. */
  testEveryDays?: number;
  /** What the advice that stands asks for already: it is kept up until half the reason for it is gone. */
  standing?: { isPlanChange: boolean; isCorrection: boolean };
  nowMs: number;
};

/** An amount of the product for each day, as a person measures it out. */
export type DailyDose = {
  risePerDay: number;
  /** Absent without a product. */
  amountPerDay?: number;
  unit?: 'mL' | 'g';
  /** Equal doses, at least so far apart; the last may be smaller by what the measure cannot show. */
  dosesPerDay: number;
  largestDose?: number;
  largestRise: number;
  hoursApart: number;
};

export type Correction = DailyDose & {
  totalRise: number;
  totalAmount?: number;
  days: number;
  /** Day by day, the first today. */
  riseOnDay: number[];
  amountOnDay?: number[];
};

export type PathPoint = { timeMs: number; level: number; low95: number; high95: number };

export type Predicted = {
  withAdvice: PathPoint[];
  withoutAdvice: PathPoint[];
  /** Chance to be outside the band within the week. */
  chanceToLeaveWith: number;
  chanceToLeaveWithout: number;
  /** When the expected level leaves the band; absent when it does not within the week. */
  leavesWithoutAdviceAtMs?: number;
  leavesWithAdviceAtMs?: number;
  /** pH (total scale) right after the largest single dose; absent for what does not act on it. */
  phBefore?: number;
  phAfterLargestDose?: number;
  /** What a day of the advised doses does to the rest of the water. */
  sideEffects: SideEffect[];
};

export type SideEffect = { metric: 'alkalinity' | 'calcium' | 'magnesium' | 'salinity'; perDay: number; text: string };

/** What advice is given on. */
export type AdviceAnalyte = DemandAnalyte | 'salinity';

/** Water to put in, day by day, the first today: how salinity is moved. */
export type WaterSteps = {
  /** `exchange`: as much tank water goes out; `top_off`: it replaces what evaporated or is missing. */
  do: 'top_off_fresh' | 'exchange_for_fresh' | 'top_off_with_salt_water' | 'exchange_for_saltier';
  litresOnDay: number[];
  /** Practical salinity of the water that goes in; 0 for fresh. */
  newSalinity: number;
  /** Salt in the water of each day, g, for a usual salt mix; absent for fresh water. */
  saltGramsOnDay?: number[];
  /** What each day does to the salinity; below 0 when it falls. */
  changeOnDay: number[];
  totalChange: number;
};

export const holdBackRules = [
  'no_test',
  'outlying_test',
  'old_test',
  'suspect_salinity',
  'demands_out_of_step',
  'interval_wider_than_band',
  'level_rises_unexplained',
  'ph_limit',
  'too_many_doses',
  'past_solubility',
  'product_does_not_raise',
  'no_salinity',
  'stale_temperature',
  'probe_and_test_disagree',
  'evaporation_or_top_off_fault',
] as const;

export type HoldBackRule = (typeof holdBackRules)[number];

export type HoldBack = { rule: HoldBackRule; text: string };

export type Advice = {
  kind: 'dose' | 'hold_back' | 'nothing' | 'wait';
  analyte: AdviceAnalyte;
  /** One or two plain sentences: what to do and why. */
  reason: string;
  /** The plan for every day; absent when the plan of now stays. */
  maintenance?: DailyDose;
  correction?: Correction;
  /** What the amounts are of; absent when the keeper has named none. */
  product?: { id: string; name: string };
  /** For salinity alone. */
  water?: WaterSteps;
  /** Absent when nothing is known of the level. */
  predicted?: Predicted;
  cautions: string[];
  sure: {
    word: 'well' | 'fairly' | 'barely';
    text: string;
    /** Half the width of the 95 % interval of the level and of the demand a day; absent when nothing is known of it. */
    levelWithin?: number;
    demandWithin?: number;
  };
  retestAtMs: number;
  holdBacks: HoldBack[];
  /** How it was worked out, line by line, with the numbers. */
  working: string[];
};
