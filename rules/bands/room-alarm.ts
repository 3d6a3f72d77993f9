import type { Metric } from '../quantity/metric.ts';
import type { AlarmEvent } from './alarm-event.ts';
import { gateOf } from './causes.ts';
import type { Condition } from './condition.ts';
import { type AlarmRecord, observe, settle } from './life-cycle.ts';
import { otherAlarm, type RoomIndex } from './room-index.ts';
import { planOf } from './room-rules.ts';
import type { RoomState } from './room-state.ts';
import type { RuleSettings } from './rule-settings.ts';

/** What an alarm outside the streams is about, and how it is said. */
export type RoomAlarm = {
  system: string;
  metric: Metric | '';
  /** Ends of the id, after system and metric. */
  tail: string;
  value?: number;
  /** Made only when the condition begins or ends. */
  say(): { raised: string; cleared: string };
};

/** Moves an alarm that belongs to no stream and tells what changed. */
export function feedRoomAlarm(
  index: RoomIndex,
  state: RoomState,
  settings: RuleSettings,
  about: RoomAlarm,
  condition: Condition,
  nowMs: number,
  events: AlarmEvent[],
): void {
  const metricName = about.metric === '' ? 'room' : about.metric;
  const id = `${about.system}/${metricName}/${settings.rule}${about.tail}`;
  if (condition !== 'abnormal' && !index.others.has(id)) return;
  const { system, metric } = about;
  const record = otherAlarm(index, state, { id, system, metric, rule: settings.rule, priority: settings.priority });
  if (!observe(record, settings, condition, nowMs)) return;
  const { raised, cleared } = about.say();
  record.priority = settings.priority;
  record.value = about.value ?? null;
  record.message = record.isLatched ? raised : cleared;
  settle(record, settings, gateOf(state, record, nowMs), nowMs, events);
}

/** The settings under which an alarm outside the streams was raised; undefined when its rule is switched off. */
export function settingsOf(index: RoomIndex, record: AlarmRecord): RuleSettings | undefined {
  const metric = record.metric === '' ? 'alkalinity' : record.metric;
  const other = planOf(index.rules, record.system, metric)?.other;
  switch (record.rule) {
    case 'out_of_band':
      return record.id.includes('/out_of_band/high/') ? other?.testAbove : other?.testBelow;
    case 'drift':
      return other?.drift;
    case 'demand_changed':
      return other?.demandChanged;
    case 'calcium_alkalinity_out_of_step':
      return other?.outOfStep;
    case 'dosed_not_moved':
      return other?.dosedNotMoved;
    case 'test_overdue':
      return other?.testOverdue;
    case 'calibration_overdue':
      return other?.calibrationOverdue;
    case 'container_low':
      return other?.containerLow;
    default:
      return undefined;
  }
}
