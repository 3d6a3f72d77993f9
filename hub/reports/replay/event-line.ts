import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { AlarmFigures } from '#rules/bands/alarm-figures.ts';
import type { Difference } from './compare.ts';

/** One JSON line of `replay`: only what was raised and cleared; the values are in the metric's store unit. */
export function eventLine(event: AlarmEvent): string | undefined {
  if (event.state !== 'raised' && event.state !== 'cleared') return undefined;
  return JSON.stringify(eventFields(event));
}

/** One JSON line of `replay --compare`: `change` says what differs, the time is that under the new rules where there is one. */
export function differenceLine(difference: Difference): string {
  const { change, event } = difference;
  if (change !== 'moved') return JSON.stringify({ change, ...eventFields(event) });
  const { oldTimeMs } = difference;
  const minutes = Math.round((event.timeMs - oldTimeMs) / 6000) / 10;
  return JSON.stringify({
    change,
    old_time: new Date(oldTimeMs).toISOString(),
    later_by_minutes: minutes,
    ...eventFields(event),
  });
}

/** The last JSON line of `replay --compare`: the figures of the alarm standard under both. */
export function figuresLine(old: AlarmFigures, fresh: AlarmFigures): string {
  return JSON.stringify({ change: 'figures', old, new: fresh });
}

function eventFields(event: AlarmEvent): Record<string, unknown> {
  return {
    time: new Date(event.timeMs).toISOString(),
    system: event.system,
    metric: event.metric,
    rule: event.rule,
    state: event.state,
    priority: event.priority,
    value: event.value ?? null,
    message: event.message,
  };
}
