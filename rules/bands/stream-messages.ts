import { metricFacts } from '../quantity/metric.ts';
import { firstCheck, probeCheck } from './first-checks.ts';
import type { Stream } from './room-index.ts';
import type { SlotName } from './rule-settings.ts';
import { amountText, bandText, durationText, valueText } from './words.ts';

const hourMs = 3_600_000;

/**
 * The sentence of a stream's alarm at the moment it is raised: what, value, band, since when, and the first thing to check.
 *
 * @param sinceMs  UTC milliseconds at which the condition began
 * @param hint     what the rest of the room says about the cause, as a sentence; may be empty
 */
export function streamMessage(stream: Stream, slot: SlotName, sinceMs: number, nowMs: number, hint: string): string {
  const { series, plan } = stream;
  const { metric, band, units } = plan;
  const { figures } = series;
  const name = subject(stream);
  const value = series.goodValue === null ? 'no value' : valueText(metric, series.goodValue, units);
  const held = nowMs - sinceMs >= 60_000 ? ` for ${durationText(nowMs - sinceMs)}` : '';
  const edges = band === undefined ? '' : bandText(metric, band, units);
  const within = band === undefined ? '' : ` (band ${edges})`;
  const first = hint === '' ? '' : `${hint} `;
  switch (slot) {
    case 'above':
      return `${name} is ${value}, above the band ${edges}${held}. ${first}${firstCheck(metric, 'high')}`;
    case 'below':
      return `${name} is ${value}, below the band ${edges}${held}. ${first}${firstCheck(metric, 'low')}`;
    case 'rate': {
      const way = figures.moveInHour > 0 ? 'rose' : 'fell';
      const amount = amountText(metric, Math.abs(figures.moveInHour), units);
      const limit = amountText(metric, plan.stream.rate?.limit ?? 0, units);
      const check = firstCheck(metric, figures.moveInHour > 0 ? 'high' : 'low');
      return `${name} ${way} by ${amount} within the last hour, more than ${limit}; it is ${value} now${within}. ${first}${check}`;
    }
    case 'swing': {
      const amount = amountText(metric, figures.swing, units);
      const limit = amountText(metric, plan.stream.swing?.limit ?? 0, units);
      return `${name} moved by ${amount} within a day, more than ${limit}; it is ${value} now${within}. Look at its curve of the last day.`;
    }
    case 'drift': {
      const way = figures.perDay > 0 ? 'rises' : 'falls';
      const hours = durationText((figures.hoursToLeave ?? 0) * hourMs);
      const check = firstCheck(metric, figures.perDay > 0 ? 'high' : 'low');
      return `${name} slowly ${way}, about ${amountText(metric, Math.abs(figures.perDay), units)} a day, and may leave the band ${edges} in ${hours}; it is ${value} now. ${check}`;
    }
    case 'departure': {
      const way = figures.distanceFromUsual > 0 ? 'above' : 'below';
      const amount = amountText(metric, Math.abs(figures.distanceFromUsual), units);
      const check = firstCheck(metric, figures.distanceFromUsual > 0 ? 'high' : 'low');
      return `${name} is ${value}, ${amount} ${way} what this time of day is used to${held}${within}. ${first}${check}`;
    }
    case 'silent': {
      const silent = durationText(nowMs - series.heardMs);
      if (!series.hasSpoken)
        return `${name}: the probe has not been heard for ${silent}. Check its power and its cable.`;
      const last = series.goodValue === null ? '' : ` The last good value was ${value}.`;
      return `${name}: no reading for ${silent}.${last} Check the probe's power and its cable.`;
    }
    case 'flat': {
      const stuckMs = nowMs - series.stuck.sinceMs;
      return `${name} has shown exactly the same value for ${durationText(stuckMs)}: the probe is probably stuck. ${probeCheck(metric)}`;
    }
    case 'impossible': {
      const last = series.goodValue === null ? '' : ` The last good value was ${value}.`;
      return `${name}: most readings of the last minutes cannot be true.${last} ${probeCheck(metric)}`;
    }
    case 'disagree': {
      const amount = amountText(metric, figures.difference, units);
      return `${metricFacts[metric].label}: its probes differ by ${amount}${held}. Check ${figures.oddProbe} first, against a hand instrument.`;
    }
  }
}

/** The sentence when it is over. */
export function streamReturnMessage(stream: Stream, slot: SlotName): string {
  const { series, plan } = stream;
  const name = subject(stream);
  const value = series.goodValue === null ? '' : `: ${valueText(plan.metric, series.goodValue, plan.units)}`;
  switch (slot) {
    case 'above':
    case 'below':
      return `${name} is back in the band${value}.`;
    case 'silent':
      return `${name} is heard again${value}.`;
    case 'flat':
      return `${name} moves again${value}.`;
    case 'impossible':
      return `${name} gives sound readings again${value}.`;
    case 'disagree':
      return `${metricFacts[plan.metric].label}: its probes agree again.`;
    default:
      return `${name} is calm again${value}.`;
  }
}

function subject(stream: Stream): string {
  const { label } = metricFacts[stream.plan.metric];
  return stream.series.isNamed ? `${label} (${stream.series.probe})` : label;
}
