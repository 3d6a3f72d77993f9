import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import type { AdviceOfAnalyte, Estimator } from '../../judgement/estimate/estimator.ts';
import type { SystemConfig } from '../../model/config/schema.ts';

/** A daily amount of one stock; grams for what is weighed dry. */
export type PlanChange = { stock: string; ml_per_day?: number; grams_per_day?: number; rise_per_day: number };
/** One amount of one stock, on top of the plan. */
export type DoseToday = { stock: string; ml?: number; grams?: number; rise: number };

export type AdviceAnswer = {
  analyte: AdviceAnalyte;
  kind: Advice['kind'];
  /** The stocks whose daily amount should change, each with its amount from now on; 0 stops it. */
  plan: PlanChange[];
  today: DoseToday[];
  hold_backs: string[];
  /** What to do with the dosing that runs. */
  dosing_now: 'leave' | 'lower' | 'stop';
  retest_at: string;
  reason: string;
};

export type EstimateAnswer = {
  analyte: DemandAnalyte;
  level: number;
  level_sd: number;
  demand_per_day: number;
  demand_sd: number;
};

/** The answer to one ask. Levels and rises in dKH or mg/L. */
export type Answer = { time: string; system: string; advice: AdviceAnswer[]; estimates: EstimateAnswer[] };

/** What the estimator, refreshed at `nowMs`, says of a system. */
export function answerOf(
  estimator: Pick<Estimator, 'advice' | 'estimate'>,
  system: SystemConfig,
  nowMs: number,
): Answer {
  return {
    time: new Date(nowMs).toISOString(),
    system: system.id,
    advice: estimator.advice(system.id).map(adviceAnswer),
    estimates: demandAnalytes.flatMap((analyte) => {
      const estimate = estimator.estimate(system.id, analyte);
      return estimate === undefined ? [] : [estimateAnswer(analyte, estimate)];
    }),
  };
}

function adviceAnswer({ analyte, advice }: AdviceOfAnalyte): AdviceAnswer {
  return {
    analyte,
    kind: advice.kind,
    // Without a stock there is no amount: the reason then says the rise.
    plan: advice.plan.flatMap(({ product, unit, amountPerDay = 0, risePerDay }) => {
      if (product === undefined) return [];
      const amount = { [unit === 'g' ? 'grams_per_day' : 'ml_per_day']: amountPerDay };
      return [{ stock: product.id, ...amount, rise_per_day: risePerDay }];
    }),
    today: advice.today.flatMap(({ product, unit, amountPerDay = 0, risePerDay }) =>
      product === undefined
        ? []
        : [{ stock: product.id, [unit === 'g' ? 'grams' : 'ml']: amountPerDay, rise: risePerDay }],
    ),
    hold_backs: advice.holdBacks.map(({ rule }) => rule),
    dosing_now: advice.dosingNow,
    retest_at: new Date(advice.retestAtMs).toISOString(),
    reason: advice.reason,
  };
}

function estimateAnswer(analyte: DemandAnalyte, estimate: DemandEstimate): EstimateAnswer {
  const { level, levelSd, demandPerDay, demandSd } = estimate;
  return { analyte, level, level_sd: levelSd, demand_per_day: demandPerDay, demand_sd: demandSd };
}
