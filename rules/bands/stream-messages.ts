import { metricFacts } from '../quantity/metric.ts';
import { bandText, durationText, valueText } from '../words/value-text.ts';
import { type SlotName, streamAlarms } from './kinds/list.ts';
import type { Stream } from './room-index.ts';

/**
 * The sentence of a stream's alarm at the moment it is raised: what, value, band, since when, and the first thing to check.
 *
 * @param sinceMs  UTC milliseconds at which the condition began
 * @param hint     what the rest of the room says about the cause, as a sentence; may be empty
 */
export function streamMessage(stream: Stream, slot: SlotName, sinceMs: number, nowMs: number, hint: string): string {
  const { series, plan } = stream;
  const { metric, band, units } = plan;
  const edges = band === undefined ? '' : bandText(metric, band, units);
  return streamAlarms[slot].alarm.raised({
    stream,
    metric,
    units,
    edges,
    nowMs,
    figures: series.figures,
    settings: plan.stream[slot],
    ...namesOf(stream),
    value: series.goodValue === null ? 'no value' : valueText(metric, series.goodValue, units),
    held: nowMs - sinceMs >= 60_000 ? ` for ${durationText(nowMs - sinceMs)}` : '',
    within: band === undefined ? '' : ` (band ${edges})`,
    hint: hint === '' ? '' : `${hint} `,
  });
}

/** The sentence when it is over. */
export function streamReturnMessage(stream: Stream, slot: SlotName): string {
  const names = namesOf(stream);
  const { returned } = streamAlarms[slot].alarm;
  return returned === undefined
    ? `${names.name} is steady again${names.valueAfter}.`
    : returned({ ...names, metric: stream.plan.metric });
}

function namesOf({ series, plan }: Stream): { name: string; valueAfter: string } {
  const { label } = metricFacts[plan.metric];
  return {
    name: series.isNamed ? `${label} (${series.probe})` : label,
    valueAfter: series.goodValue === null ? '' : `: ${valueText(plan.metric, series.goodValue, plan.units)}`,
  };
}
