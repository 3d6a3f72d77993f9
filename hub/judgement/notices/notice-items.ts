import type * as z from 'zod';
import type { Notice, Notifier } from '#adapters/ports/notifier.ts';
import type { OutboxItem } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { alarmPayload } from './payload-schemas.ts';
import type { NoticeMessage } from './stage.ts';

/** A notice as items of the outbox, one for each way that has a place for it. */
export type Ways = (notice: Notice) => OutboxItem[];

export function waysTo(notifiers: readonly Notifier[]): Ways {
  return (notice) =>
    notifiers.flatMap((notifier) => {
      const payload = notifier.itemOf(notice);
      return payload === undefined ? [] : [{ destination: notifier.destination, key: notice.key, payload }];
    });
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
    ...defined({ by: event.by, why: event.why }),
  };
}

/**
 * The state of the alarm after an event: at once and each time, whatever the notices do. It is keyed by alarm, occurrence, state
 * and time, so that a repeat after a crash is recognised by whoever receives it.
 */
export function stateNotice(event: AlarmEvent, systemName: string, isRepeat = false): Notice {
  return {
    is: 'alarm',
    key: `state:${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`,
    alarm: event.alarm,
    state: JSON.stringify({ ...alarmState(event, systemName), ...(isRepeat ? { repeat: true } : {}) }),
  };
}

/** A line on its way to a phone. */
export function lineNotice({ key, to, line }: NoticeMessage): Notice {
  return { is: 'line', key: `${to}:${key}`, to, line };
}
