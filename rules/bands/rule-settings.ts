import type { RuleKind } from './kinds/list.ts';
import type { LifeSettings } from './life-cycle.ts';
import type { Priority } from './watched-room.ts';

/** One rule of one metric, ready to run. */
export type RuleSettings = LifeSettings & {
  rule: RuleKind;
  priority: Priority;
  /** Distance inside the limit at which a return to normal counts; the unit of `limit`. */
  deadband: number;
  /** What the number compared by the rule may reach; each rule kind says in its file what that is. */
  limit: number;
};

export { slots } from './kinds/list.ts';
