import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { type AlarmRecord, newAlarm } from '#rules/bands/alarm-record.ts';
import type { Condition } from '#rules/bands/condition.ts';
import { type Gate, observe, openGate, settle } from '#rules/bands/life-cycle.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

/** Five minutes on, ten off, ten of a gap; an acknowledged alarm comes back after an hour. */
export const settings = {
  onDelayMs: 5 * minuteMs,
  offDelayMs: 10 * minuteMs,
  gapToleranceMs: 10 * minuteMs,
  reAlarmMs: hourMs,
};
export const strong: Gate = { is: 'strong', cause: 'maintenance' };
export const weak: Gate = { is: 'weak', cause: 'same stream' };

/** One alarm and what was told of it; minutes from a Monday. */
export class Alarm {
  record: AlarmRecord = newAlarm({ id: 'tank/ph/rate', system: 'tank', metric: 'ph', rule: 'rate', priority: 'low' });
  events: AlarmEvent[] = [];

  see(condition: Condition, minute: number): boolean {
    return observe(this.record, settings, condition, mondayMs + minute * minuteMs);
  }

  /** One observation a minute, both minutes included; whether the last one changed anything. */
  seeFrom(condition: Condition, from: number, to: number): boolean {
    let changed = false;
    for (let minute = from; minute <= to; minute += 1) changed = this.see(condition, minute);
    return changed;
  }

  settle(minute: number, gate: Gate = openGate): string[] {
    const before = this.events.length;
    settle(this.record, settings, gate, mondayMs + minute * minuteMs, this.events);
    return this.events.slice(before).map(({ state }) => state);
  }

  /** What was told since, as `state occurrence`. */
  told(): string[] {
    return this.events.map(({ state, occurrence }) => `${state} ${occurrence}`);
  }
}

/** Raised and told at minute 5. */
export function raised(): Alarm {
  const alarm = new Alarm();
  alarm.seeFrom('abnormal', 0, 5);
  alarm.settle(5);
  return alarm;
}
