import type { Band, Bands, KeepersUnits } from '../bands/watched-room.ts';
import type { PhScale } from '../seawater/ph-scale.ts';
import type { DemandAnalyte } from '../trend/demand-facts.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { CarbonateAddition, SubstanceId } from './substance.ts';

/** What the keeper doses from. */
export type AdviceProduct = {
  id: string;
  name: string;
  /** A pure substance of the table, or a bought solution whose label states its strength. */
  made: /** `isSaturated`: clear lime water, whose strength is that of its temperature. */
    | { of: SubstanceId; gramsPerLitre?: number; isSaturated?: boolean }
    /** What one millilitre adds to 100 litres, in the analyte's unit. */
    | {
        of: 'own_strength';
        raises: DemandAnalyte;
        raises100LByPerMl: number;
        /** The same of all that it brings; absent: of nothing else. */
        all100LByPerMl?: Partial<Record<DemandAnalyte, number>>;
        /** How its alkalinity acts, where that is known. */
        addition?: CarbonateAddition;
        /** Of a calcium reactor: what drips out and what went in, dKH, and its pH (usual buffers) where it was measured. */
        effluent?: { alkalinity_dKH: number; tankAlkalinity_dKH: number; phNbs?: number };
      };
  /** Most that its maker or the keeper allows in a day for each 100 litres; grams when it is weighed dry. */
  mostMlPerDayPer100L?: number;
  mostGramsPerDayPer100L?: number;
  /** Equal doses a day that the pump or the keeper gives now; 1 when absent. */
  timesPerDay?: number;
};

/** A fact of the water with its age. */
export type KnownFact = { value: number; ageMs: number; isSuspect?: boolean };

/** A pH with the scale it is on; `highestOfDay` and `lowestOfDay` those of the last 24 hours, where a probe tells. */
export type KnownPh = KnownFact & { scale: PhScale; highestOfDay?: number; lowestOfDay?: number };

export type AdviceTest = {
  timeMs: number;
  value: number;
  sd?: number;
  isSuspect?: boolean;
  /** Practical salinity of the water then; absent where nobody measured it. */
  salinity?: number;
};

/** A product that raises the analyte, with what is given of it now; amounts in mL, or in g of what is weighed dry. */
export type AdviceStock = {
  product: AdviceProduct;
  /** By the standing plan, a day. */
  planPerDay: number;
  /** By hand, logged so regularly that it goes on like a plan, a day. */
  byHandPerDay: number;
  /** Its container must be empty by its own count. */
  isEmpty?: boolean;
};

/** A demand as it was known after an earlier test. */
export type PastDemand = { timeMs: number; demandPerDay: number; demandSd: number; testsUsed: number };

export type AdviceInput = {
  system: {
    volumeL: number;
    /** What the doses say against this volume, in words; absent when it fits, or they say nothing. */
    volumeDoubt?: string;
    /** Gas exchange of this tank, 1/h at 25 °C with its 95 % interval; absent while it is not known. */
    gasTransfer?: { coefficient_per_h: number; low95: number; high95: number; isWellKnown: boolean };
    band: Band;
    otherBands: Bands;
    /** The keeper's own limit, as the meter shows it, and the scale that the meter is on. */
    highestPhAfterDose: { value: number; scale: PhScale };
  };
  analyte: DemandAnalyte;
  /** By the demand filter at `nowMs`; absent before the first test. */
  estimate?: DemandEstimate;
  /** Estimates of the other analytes of the system, for the comparison of calcium with alkalinity. */
  otherEstimates?: Partial<Record<DemandAnalyte, DemandEstimate>>;
  /** Oldest first; the last few are enough. */
  lastTests: readonly AdviceTest[];
  /** Rise by all doses since the oldest of `lastTests`, in the analyte's unit. */
  dosedSinceOldestTest?: number;
  /** All that raise the analyte; empty: the keeper has named none, and advice speaks of the rise alone. */
  stocks: readonly AdviceStock[];
  /** Rise a day by what is given regularly of no named stock. */
  otherRisePerDay?: number;
  /** What is given of each analyte a day, by all stocks. */
  plansPerDay?: Partial<Record<DemandAnalyte, number>>;
  /** Single doses and water changes of the last day that raised the level, oldest first. */
  given: readonly { timeMs: number; rise: number }[];
  /** What the plan of all stocks gave over the last day, unit a day, oldest first, up to now. */
  planned: readonly { fromMs: number; toMs: number; risePerDay: number }[];
  /** Every rise by a dose since some days before the oldest of `lastTests`, by hand and by plan, oldest first. */
  doses?: readonly { timeMs: number; rise: number; isPlanned?: boolean }[];
  /** What was known after the tests of the last weeks, oldest first. */
  pastDemands?: readonly PastDemand[];
  otherPastDemands?: Partial<Record<DemandAnalyte, readonly PastDemand[]>>;
  /** Times at which corals arrived, in the last weeks. */
  arrivalsMs?: readonly number[];
  /** When the plan or a refill was last entered, UTC ms: somebody looked at the pump. */
  planSeenMs?: number;
  water: {
    salinity?: KnownFact;
    temperature_C?: KnownFact;
    ph?: KnownPh;
    alkalinity_dKH?: KnownFact;
    calcium_mg_L?: KnownFact;
    magnesium_mg_L?: KnownFact;
  };
  /** Days between tests that the keeper has set. */
  testEveryDays?: number;
  /** In which units it is put into words; the numbers stay in the store's. */
  units?: KeepersUnits;
  nowMs: number;
};

/** An amount for a day, as a person measures it out. */
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

/** `product`: absent when the keeper has named none. */
type OfProduct = { product?: { id: string; name: string } };

/** A new daily amount of one stock, in all: by plan and by hand. 0 stops it. */
export type PlanChange = DailyDose & OfProduct & { before: { risePerDay: number; amountPerDay?: number } };

/** What goes in today on top of the plan. */
export type TodayDose = DailyDose & OfProduct;

/** When and at what rate dosing that is stopped begins again. */
export type Resumption = OfProduct & { atMs: number; risePerDay: number; amountPerDay?: number; unit?: 'mL' | 'g' };

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
  /** pH (total scale) after it by the gas exchange of this tank; absent while that is not known. `phAfterLargestDose` stays the limit. */
  phForecast?: { hours: number; likely: number; low95: number; high95: number }[];
  /** Lowest pH (total scale) of the day, as it is and with the advised flow of a reactor once that has settled; absent without one. */
  nightPh?: NightPh;
  /** What a day of the advised doses does to the rest of the water. */
  sideEffects: SideEffect[];
};

/** `low95` and `high95` by the gas exchange of this tank; absent while that is not known and a slow one is taken. */
export type NightPh = { before: number; after: number; low95?: number; high95?: number };

export type SideEffect = { metric: DemandAnalyte | 'salinity'; perDay: number; text: string };

/** What advice is given on. */
export type AdviceAnalyte = DemandAnalyte | 'salinity';

/** Water to put in, day by day, the first today: how salinity is moved. */
export type WaterSteps = {
  /** `exchange`: as much tank water goes out; `top_off`: it replaces what evaporated; `drawn_off`: tank water goes back with salt in it. */
  do:
    | 'top_off_fresh'
    | 'exchange_for_fresh'
    | 'top_off_with_salt_water'
    | 'exchange_for_saltier'
    | 'salt_into_drawn_off';
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
  'one_test',
  'use_not_known',
  'demands_out_of_step',
  'plan_may_not_arrive',
  'container_empty',
  'doses_not_seen',
  'may_precipitate',
  'salinity_first',
  'only_diluted',
  'interval_wider_than_band',
  'level_rises_unexplained',
  'ph_limit',
  'low_ph_limit',
  'saturation_limit',
  'other_analyte_high',
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
  /** The stocks whose daily amount changes; empty when all stay as they are. */
  plan: PlanChange[];
  /** On top of the plan, today. */
  today: TodayDose[];
  /** What to do with the dosing that runs. `lower` and `stop` come with the `plan` that does it. */
  dosingNow: 'leave' | 'lower' | 'stop';
  /** Present while dosing is stopped, or to be stopped, in water that uses the analyte. */
  resume?: Resumption;
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
