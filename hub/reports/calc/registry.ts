import { airBalanceCalculation } from './air-balance.ts';
import { calciumReactorCalculation } from './calcium-reactor.ts';
import type { Calculation } from './calculation.ts';
import { carbonateCalculation } from './carbonate.ts';
import { carbonateUncertaintyCalculation } from './carbonate-uncertainty.ts';
import { densityCalculation } from './density.ts';
import { doseEffectCalculation } from './dose-effect.ts';
import { endPointCalculation } from './end-point.ts';
import { fixedEndPointCalculation } from './fixed-end-point.ts';
import { hardnessCalculation } from './hardness.ts';
import { hydrometerCalculation } from './hydrometer.ts';
import { limeWaterCalculation } from './lime-water.ts';
import { mixCalculation } from './mix.ts';
import { phForecastCalculation } from './ph-forecast.ts';
import { salinityCalculation } from './salinity.ts';

/** What `calc` can answer row by row. To add one: a file of its own beside this one, and a line here. */
export const calculations: readonly Calculation[] = [
  salinityCalculation,
  densityCalculation,
  hydrometerCalculation,
  endPointCalculation,
  fixedEndPointCalculation,
  hardnessCalculation,
  carbonateCalculation,
  carbonateUncertaintyCalculation,
  doseEffectCalculation,
  phForecastCalculation,
  airBalanceCalculation,
  mixCalculation,
  limeWaterCalculation,
  calciumReactorCalculation,
];
