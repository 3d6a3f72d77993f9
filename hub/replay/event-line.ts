import type { AlarmEvent } from '#rules/bands/alarm-event.ts';

/** One JSON line of `replay`: only what was raised and cleared; the values are in the metric's store unit. */
export function eventLine(event: AlarmEvent): string | undefined {
  if (event.state !== 'raised' && event.state !== 'cleared') return undefined;
  return JSON.stringify({
    time: new Date(event.timeMs).toISOString(),
    system: event.system,
    metric: event.metric,
    rule: event.rule,
    state: event.state,
    priority: event.priority,
    value: event.value ?? null,
    message: event.message,
  });
}
