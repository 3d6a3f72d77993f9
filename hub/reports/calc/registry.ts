import type { Calculation } from './calculation.ts';
import { carbonateCalculation } from './carbonate.ts';
import { densityCalculation } from './density.ts';
import { doseEffectCalculation } from './dose-effect.ts';
import { mixCalculation } from './mix.ts';
import { salinityCalculation } from './salinity.ts';

/** What `calc` can answer row by row. To add one: a file of its own beside this one, and a line here. */
export const calculations: readonly Calculation[] = [
  salinityCalculation,
  densityCalculation,
  carbonateCalculation,
  doseEffectCalculation,
  mixCalculation,
];
