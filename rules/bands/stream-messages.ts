import { metricFacts } from '../quantity/metric.ts';
import { firstCheck, probeCheck } from './first-checks.ts';
import type { Stream } from './room-index.ts';
import type { SlotName } from './rule-settings.ts';
import { bandText, durationText, valueText } from './words.ts';

/**
 * The sentence of a stream's alarm at the moment it is raised: what, value, band, since when, and the first thing to check.
 *
 * @param sinceMs  UTC milliseconds at which the condition began
 */
export function streamMessage(stream: Stream, slot: SlotName, sinceMs: number, nowMs: number): string {
  const { series, plan } = stream;
  const { metric, band } = plan;
  const name = subject(stream);
  const value = series.goodValue === null ? 'no value' : valueText(metric, series.goodValue);
  const held = nowMs - sinceMs >= 60_000 ? ` for ${durationText(nowMs - sinceMs)}` : '';
  const within = band === undefined ? '' : ` the band ${bandText(metric, band)}`;
  switch (slot) {
    case 'above':
      return `${name} is ${value}, above${within}${held}. ${firstCheck(metric, 'high')}`;
    case 'below':
      return `${name} is ${value}, below${within}${held}. ${firstCheck(metric, 'low')}`;
    case 'silent': {
      const silent = durationText(nowMs - series.heardMs);
      if (!series.hasSpoken)
        return `${name}: the probe has not been heard for ${silent}. Check its power and its cable.`;
      const last = series.goodValue === null ? '' : ` The last good value was ${value}.`;
      return `${name}: no reading for ${silent}.${last} Check the probe's power and its cable.`;
    }
    default:
      return `${name}: ${value}. ${probeCheck(metric)}`;
  }
}

/** The sentence when it is over. */
export function streamReturnMessage(stream: Stream, slot: SlotName): string {
  const { series, plan } = stream;
  const value = series.goodValue === null ? '' : `: ${valueText(plan.metric, series.goodValue)}`;
  switch (slot) {
    case 'above':
    case 'below':
      return `${subject(stream)} is back in the band${value}.`;
    case 'silent':
      return `${subject(stream)} is heard again${value}.`;
    default:
      return `${subject(stream)} is back to normal${value}.`;
  }
}

function subject(stream: Stream): string {
  const { label } = metricFacts[stream.plan.metric];
  return stream.series.isNamed ? `${label} (${stream.series.probe})` : label;
}
