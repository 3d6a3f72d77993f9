import type { Evidence } from '#rules/bands/evidence.ts';
import { hourMs } from '#rules/clock/durations.ts';
import { type DemandAnalyte, demandFacts } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { forecastLevel, likelyExit } from '#rules/trend/forecast.ts';
import type { SystemConfig } from '../../model/config/schema.ts';

/** A demand less sure than this share of what was taken before the first test rests on that alone. */
const mostShareOfFirstSd = 0.5;

/** What the rules should know of an analyte: its demand, and when it is likely to leave its band. */
export function levelEvidence(
  system: SystemConfig,
  analyte: DemandAnalyte,
  estimate: DemandEstimate | undefined,
  risePerDay: number,
  nowMs: number,
): Evidence[] {
  if (estimate === undefined) return [];
  const { demandPerDay, demandSd } = estimate;
  const demand: Evidence = { is: 'demand', system: system.id, analyte, demandPerDay, sd: demandSd };
  const band = system.bands[analyte];
  if (band === undefined) return [demand];
  const stays: Evidence = { is: 'forecast', system: system.id, metric: analyte, probability: 0 };
  // By what is taken of any tank before its tests a demand can be anything, and so can the level of tomorrow.
  if (estimate.testsUsed < 2 || demandSd > mostShareOfFirstSd * demandFacts[analyte].firstDemandSd)
    return [demand, stays];
  const { side, atMs, chance } = likelyExit(forecastLevel(estimate, { risePerDay }, band));
  if (chance < 0.5) return [demand, { ...stays, probability: chance }];
  return [demand, { ...stays, probability: chance, side, hoursToLeave: Math.max(0, atMs - nowMs) / hourMs }];
}
