import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { PlannedDoses } from './advice-plan.ts';
import type { AdviceInput, HoldBack } from './advice-types.ts';
import type { DoseWater } from './advice-water.ts';
import type { Choice } from './control.ts';
import type { DayLedger } from './day-ledger.ts';
import type { HighSide } from './high-side.ts';
import type { StockInUse } from './stocks-in-use.ts';

/** All that a piece of advice is made from. */
export type Worked = {
  input: AdviceInput;
  estimate: DemandEstimate;
  /** What all sources raise the level by now, unit a day. */
  planPerDay: number;
  mostPerDay: number;
  water: DoseWater;
  stocks: readonly StockInUse[];
  ledger: DayLedger;
  side: HighSide;
  choice: Choice;
  planned: PlannedDoses;
  holdBacks: HoldBack[];
  isAboveBand: boolean;
};
