import type * as z from 'zod';
import type { OutboxItem } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { Topics } from '../../model/topics.ts';
import type { alarmPayload } from './payload-schemas.ts';
import type { NoticeMessage } from './stage.ts';

/** What waits in the outbox for the broker. */
export type QueuedMessage = { topic: string; payload: string; retain: boolean };

export function queued(key: string, message: QueuedMessage): OutboxItem {
  return { destination: 'mqtt', key, payload: JSON.stringify(message) };
}

/** The retained state of an alarm, as anyone who connects later finds it. */
export function alarmState(event: AlarmEvent, systemName: string): z.infer<typeof alarmPayload> {
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
    ...(event.why === undefined ? {} : { why: event.why }),
  };
}

/**
 * The retained state of the alarm after an event: at once and each time, whatever the notices do. It is keyed by alarm,
 * occurrence, state and time, so that a repeat after a crash is recognised by whoever receives it.
 */
export function stateItem(event: AlarmEvent, systemName: string, topics: Topics): OutboxItem {
  return queued(`state:${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`, {
    topic: topics.alarm(event.alarm),
    payload: JSON.stringify(alarmState(event, systemName)),
    retain: true,
  });
}

/** A line on its way to a phone. */
export function lineItem(message: NoticeMessage, topics: Topics): OutboxItem {
  return queued(`${message.to}:${message.key}`, {
    topic: message.to === 'phone' ? topics.phone : topics.escalated,
    payload: message.line,
    retain: false,
  });
}
