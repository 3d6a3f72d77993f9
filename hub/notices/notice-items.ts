import type { OutboxItem } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { phoneLine } from './phone-line.ts';
import type { Topics } from './topics.ts';

/** What waits in the outbox for the broker. */
export type QueuedMessage = { topic: string; payload: string; retain: boolean };

export function queued(key: string, message: QueuedMessage): OutboxItem {
  return { destination: 'mqtt', key, payload: JSON.stringify(message) };
}

/** The retained state of an alarm, as anyone who connects later finds it. */
export function alarmState(event: AlarmEvent, systemName: string): Record<string, unknown> {
  return {
    alarm: event.alarm,
    occurrence: event.occurrence,
    state: event.state,
    system: event.system,
    system_name: systemName,
    metric: event.metric,
    rule: event.rule,
    priority: event.priority,
    value: event.value ?? null,
    unit: event.metric === '' ? '' : metricFacts[event.metric].unit,
    message: event.message,
    time: new Date(event.timeMs).toISOString(),
    ...(event.by === undefined ? {} : { by: event.by }),
  };
}

/**
 * The messages of one alarm event. They are keyed by alarm, occurrence, state and time, so that a repeat after a crash is
 * recognised by whoever receives it.
 */
export function noticeItems(event: AlarmEvent, systemName: string, topics: Topics): OutboxItem[] {
  const key = `${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`;
  const state = queued(`state:${key}`, {
    topic: topics.alarm(event.alarm),
    payload: JSON.stringify(alarmState(event, systemName)),
    retain: true,
  });
  const line = phoneLine(event, systemName);
  if (line === undefined) return [state];
  return [state, queued(`phone:${key}`, { topic: topics.phone, payload: line, retain: false })];
}
