import type { Metric } from '../quantity/metric.ts';
import type { Priority, RuleKind } from './watched-room.ts';

/**
 * What the life cycle of an alarm tells the world. `occurrence` counts the times this alarm was raised or raised again, and
 * goes up as well before a state is told a second time (shelved twice), so that (alarm, occurrence, state) names one event for
 * good: whoever receives it twice can drop the second.
 */
export type AlarmEvent = {
  timeMs: number;
  alarm: string;
  occurrence: number;
  state: 'raised' | 'cleared' | 'acknowledged' | 'shelved' | 'unshelved' | 'suppressed' | 'unsuppressed' | 'reraised';
  system: string;
  metric: Metric | '';
  rule: RuleKind | 'edge_fault';
  priority: Priority;
  /** In the metric's store unit; absent when there is no number to give (a silent probe). */
  value?: number;
  /** One plain sentence in the keeper's words: what, value, band, and the first thing to check. */
  message: string;
  /** Who acknowledged or shelved it. */
  by?: string;
  /** Why it was shelved, in the words of whoever did it. */
  why?: string;
};
