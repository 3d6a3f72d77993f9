import { dayMs } from '../clock/durations.ts';
import { OutOfRange } from '../quantity/out-of-range.ts';
import { ripeAfter, type Warmth } from './degree-days.ts';
import type { Pest } from './pests.ts';

export type PestPlanInput = {
  pest: Pest;
  /** Dips that were done, UTC ms, at least the first; in any order. */
  dipsMs: readonly number[];
  /** Inspections that were done, UTC ms. */
  inspectionsMs: readonly number[];
  /** When somebody who saw something means to look again, UTC ms; beside the plan's own days. */
  lookAgainMs?: number;
  warmth: Warmth;
  nowMs: number;
};

export type PestTask = {
  kind: 'inspection' | 'dip';
  dueMs: number;
  /** A dip outside these reaches only a part: before it eggs, after it a new generation's eggs. */
  opensMs?: number;
  closesMs?: number;
  /** `due`: from the day it is due (a dip: since its window opened) on; `late`: after its time. */
  state: 'done' | 'planned' | 'due' | 'late';
  /** Asked for because something was seen, and not by the plan. */
  isLookAgain?: true;
};

export type PestPlan = {
  /** By due time. */
  tasks: PestTask[];
  /** When the watch ends if nothing is found. */
  clearMs: number;
  /** Part of the way to the next dip, or to the end of the watch, that rests on measured temperature, 0 to 1; 1 where days count. */
  measuredShare: number;
  warnings: string[];
};

type Window = { opensMs: number; closesMs: number; clearMs: number; measuredShare: number; isExtrapolated: boolean };

/** A window whose end lies further off than this cannot be planned for. */
const tooCold = 'the tank is too cold for this pest to develop within two years: plan by eye';

/**
 * Repeat dips and inspections after a first dip, by what is known of the pest and of the tank's warmth until now. Made again
 * with each day's temperature, so that the dates move with it.
 *
 * A repeat dip is due in the middle of its window: hatching is known on average only, and the middle is as far from the late
 * hatchers as from the first that lay. A dip done before its window opened does not count, and one after it closed asks for
 * one more.
 *
 * @throws OutOfRange  without a first dip, without any temperature, for a temperature outside 5 to 40 °C, or in a tank too
 *   cold for the pest
 * @source the pest's own (pests.ts)
 */
export function pestPlan(input: PestPlanInput): PestPlan {
  const { pest, warmth, nowMs } = input;
  const [firstMs, ...laterMs] = [...input.dipsMs].sort((one, other) => one - other);
  if (firstMs === undefined) throw new OutOfRange('dips done', 0, '1 or more');
  const warnings: string[] = [];
  const tasks: PestTask[] = [{ kind: 'dip', dueMs: firstMs, state: 'done' }];
  let lastMs = firstMs;
  let window = windowAfter(firstMs, pest, warmth);
  let dipsLeft = pest.repeatDips;
  for (const dipMs of laterMs) {
    tasks.push({ kind: 'dip', dueMs: dipMs, opensMs: window.opensMs, closesMs: window.closesMs, state: 'done' });
    if (dipMs < window.opensMs) {
      warnings.push('A repeat dip came before the eggs had hatched, which dips do not kill: it does not count.');
      continue;
    }
    if (dipMs <= window.closesMs) dipsLeft = Math.max(0, dipsLeft - 1);
    else warnings.push('A repeat dip came late: a new generation may have laid eggs, so one more is planned.');
    lastMs = dipMs;
    window = windowAfter(dipMs, pest, warmth);
  }
  const measuredShare = window.measuredShare;
  for (; dipsLeft > 0; dipsLeft -= 1) {
    const { opensMs, closesMs } = window;
    const dueMs = (opensMs + closesMs) / 2;
    const state = nowMs > closesMs ? 'late' : nowMs >= opensMs ? 'due' : 'planned';
    tasks.push({ kind: 'dip', dueMs, opensMs, closesMs, state });
    if (state === 'late') warnings.push('A repeat dip is late: dip as soon as you can, and count from then.');
    // What follows an overdue dip can only be counted from now.
    lastMs = state === 'late' ? nowMs : dueMs;
    window = windowAfter(lastMs, pest, warmth);
  }
  if (window.isExtrapolated) {
    warnings.push('The tank is colder or warmer than this pest was studied at: the dates are extrapolated.');
  }
  tasks.push(...inspections(input, firstMs, window.clearMs), ...lookAgain(input));
  tasks.sort((one, other) => one.dueMs - other.dueMs);
  return { tasks, clearMs: window.clearMs, measuredShare, warnings: [...new Set(warnings)] };
}

function windowAfter(dipMs: number, pest: Pest, warmth: Warmth): Window {
  const { window } = pest;
  if (window.kind === 'days') {
    return {
      opensMs: dipMs + window.opensDays * dayMs,
      closesMs: dipMs + window.closesDays * dayMs,
      clearMs: dipMs + window.watchDays * dayMs,
      measuredShare: 1,
      isExtrapolated: false,
    };
  }
  const after = (degreeDays: number) => {
    const ripe = ripeAfter(dipMs, degreeDays, window.development, warmth);
    if (ripe === undefined) {
      throw new OutOfRange(`degree-days above ${window.development.threshold_C.toFixed(1)} °C`, 0, tooCold);
    }
    return ripe;
  };
  const [opens, closes] = [after(window.opens_degreeDays), after(window.closes_degreeDays)];
  const clear = after(window.generation_degreeDays);
  return {
    opensMs: opens.atMs,
    closesMs: closes.atMs,
    clearMs: clear.atMs,
    measuredShare: closes.measuredShare,
    isExtrapolated: clear.isExtrapolated,
  };
}

/** Late after a day: what was seen spreads meanwhile. Common practice, no published source. */
function lookAgain({ lookAgainMs, nowMs }: PestPlanInput): PestTask[] {
  if (lookAgainMs === undefined) return [];
  const lateMs = nowMs - lookAgainMs;
  const state = lateMs > dayMs ? 'late' : lateMs >= 0 ? 'due' : 'planned';
  return [{ kind: 'inspection', dueMs: lookAgainMs, state, isLookAgain: true }];
}

function inspections(input: PestPlanInput, firstMs: number, clearMs: number): PestTask[] {
  const everyMs = input.pest.inspectEveryDays * dayMs;
  const count = Math.ceil((clearMs - firstMs) / everyMs - 1e-9);
  return Array.from({ length: count }, (_, index) => {
    // The last one falls on the day the watch ends.
    const dueMs = Math.min(firstMs + (index + 1) * everyMs, clearMs);
    const isDone = input.inspectionsMs.some((doneMs) => Math.abs(doneMs - dueMs) <= everyMs / 2);
    const lateMs = input.nowMs - dueMs;
    const state = isDone ? 'done' : lateMs > everyMs / 2 ? 'late' : lateMs >= 0 ? 'due' : 'planned';
    return { kind: 'inspection', dueMs, state };
  });
}
