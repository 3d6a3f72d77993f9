import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { withUnit } from './advice-facts.ts';
import type { AdviceInput, PastDemand } from './advice-types.ts';
import { calciumPerAlkalinity_mg_L_per_dKH } from './stoichiometry.ts';

/** Corals do not take up half as much again within so many days by themselves. @source common practice, no published source */
const suddenShare = 0.5;
const lookedBackDays = { from: 2.5, to: 14 };
/** How far from 7.147 mg/L for each dKH the two extra losses may be and still be calcium carbonate. */
const looseShare = 0.4;
const surelySds = 1.6;
const fewestTests = 5;

/**
 * Alkalinity and calcium that suddenly fall faster together, in the proportion of calcium carbonate and beyond what corals do: it
 * precipitates. In words; undefined while nothing of the kind is seen.
 */
export function precipitation(input: AdviceInput, estimate: DemandEstimate): string | undefined {
  const { analyte, nowMs, units } = input;
  if (analyte !== 'alkalinity' && analyte !== 'calcium') return undefined;
  const isAlkalinity = analyte === 'alkalinity';
  const other = input.otherEstimates?.[isAlkalinity ? 'calcium' : 'alkalinity'];
  const otherPast = input.otherPastDemands?.[isAlkalinity ? 'calcium' : 'alkalinity'];
  if (other === undefined) return undefined;
  if ((input.arrivalsMs ?? []).some((timeMs) => timeMs > nowMs - lookedBackDays.to * dayMs)) return undefined;
  const own = extraLoss(estimate, input.pastDemands, nowMs);
  const others = extraLoss(other, otherPast, nowMs);
  if (own === undefined || others === undefined) return undefined;
  const [alkalinity, calcium] = isAlkalinity ? [own, others] : [others, own];
  const ratio = calcium / alkalinity / calciumPerAlkalinity_mg_L_per_dKH;
  if (ratio < 1 - looseShare || ratio > 1 / (1 - looseShare)) return undefined;
  return (
    `Alkalinity and calcium suddenly fall faster together, by ${withUnit('alkalinity', alkalinity, units)} and ${withUnit('calcium', calcium, units)} a day more than before: ` +
    'calcium carbonate is precipitating. Look for a white film on heater and pumps, check pH and magnesium, and give no more of either.'
  );
}

/** How much faster the level falls than it did; undefined while that is within what is not known, or within what corals do. */
function extraLoss(
  estimate: DemandEstimate,
  past: readonly PastDemand[] | undefined,
  nowMs: number,
): number | undefined {
  const known = (past ?? []).filter(({ timeMs, testsUsed }) => {
    const days = (nowMs - timeMs) / dayMs;
    return days >= lookedBackDays.from && days <= lookedBackDays.to && testsUsed >= fewestTests;
  });
  if (known.length === 0) return undefined;
  const before = known.reduce((least, each) => (each.demandPerDay < least.demandPerDay ? each : least));
  const extra = estimate.demandPerDay - before.demandPerDay;
  const isSure = extra > surelySds * Math.hypot(estimate.demandSd, before.demandSd);
  return isSure && extra > suddenShare * Math.max(0, before.demandPerDay) ? extra : undefined;
}
