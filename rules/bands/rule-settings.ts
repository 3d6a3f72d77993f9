import type { LifeSettings } from './life-cycle.ts';
import type { Priority, RuleKind } from './watched-room.ts';

/** One rule of one metric, ready to run. */
export type RuleSettings = LifeSettings & {
  rule: RuleKind;
  priority: Priority;
  /** Distance inside the limit at which a return to normal counts; the unit of `limit`. */
  deadband: number;
  /** What the number compared by the rule may reach; each rule kind says in its module what that is. */
  limit: number;
};

/** Places of a stream's rules in its list of alarms; part of the stored state, so a number never changes its meaning. */
export const slots = {
  above: 0,
  below: 1,
  rate: 2,
  swing: 3,
  drift: 4,
  departure: 5,
  silent: 6,
  flat: 7,
  impossible: 8,
  disagree: 9,
} as const;

export type SlotName = keyof typeof slots;
