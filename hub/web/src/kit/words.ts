import { isSilentBy } from '#rules/verdicts/silence.ts';
import { type ValueState, valueState } from '#rules/verdicts/value-state.ts';
import type { MetricView } from '../../../api/room.ts';
import { amountText } from './shown-number.ts';
import { ageText } from './times.ts';

/** A label in the middle of a sentence: `temperature`, yet `pH` and `ORP`. */
export function inSentence(label: string): string {
  return /^[A-Z][a-z]/.test(label) ? label.charAt(0).toLowerCase() + label.slice(1) : label;
}

export function capital(name: string): string {
  return name.charAt(0).toUpperCase() + name.slice(1);
}

/** A number stays on one line with the word after it: a value parted from its unit is read as another value. */
export function unbroken(text: string): string {
  return text.replaceAll(/(\d) (?=\S)/g, '$1\u00a0');
}

/** Names in a row: `a, b and c`. */
export function listed(names: readonly string[]): string {
  if (names.length < 2) return names.join('');
  return `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}

export type RowState = Exclude<ValueState, 'unbanded'> | 'unknown';

/** What a row's value is worth, as the rules judge it. */
export function stateOf(metric: MetricView, nowMs: number): RowState {
  if (metric.value === null || metric.time === null) return 'unknown';
  const state = valueState({ ...metric, isSilent: isSilentBy(metric.silentAfterMs, metric.time, nowMs) });
  return state === 'unbanded' ? 'inside' : state;
}

/** The state in words: colour and shape never stand alone. */
export function stateWords(metric: MetricView, nowMs: number): string {
  switch (stateOf(metric, nowMs)) {
    case 'unknown':
      return metric.why ?? 'no value';
    case 'stale':
      return `silent, last heard ${ageText(nowMs - (metric.time ?? 0))}`;
    case 'doubtful':
      return metric.why === null ? 'doubtful' : `doubtful: ${metric.why}`;
    case 'outside':
      return metric.band !== null && (metric.value ?? 0) > metric.band.high ? 'above its band' : 'below its band';
    default:
      return metric.band === null ? 'no band set' : 'in its band';
  }
}

/** Where a probe is, when it is where its last hours do not lead: a trend of hours says nothing of the last minute. */
export function suddenWords(metric: MetricView): 'jumped up' | 'dropped' | undefined {
  const first = metric.outlook?.points[0];
  if (metric.outlook?.by !== 'probe' || first === undefined || metric.value === null || metric.band === null)
    return undefined;
  const usual = Math.max(2 * (first.high - first.level), (metric.band.high - metric.band.low) / 8);
  if (Math.abs(metric.value - first.level) <= usual) return undefined;
  return metric.value > first.level ? 'jumped up' : 'dropped';
}

/** The trend in words; undefined while nothing can be said of it. */
export function trendWords(metric: MetricView): string | undefined {
  const { outlook, band } = metric;
  if (outlook === null) return undefined;
  const sudden = suddenWords(metric);
  if (sudden !== undefined) return sudden;
  const { perDay } = outlook;
  // What moves by less than a twentieth of the band in two days stands still for a keeper.
  const still = band === null ? 0.5 * 10 ** -metric.decimals : (band.high - band.low) / 40;
  if (Math.abs(perDay) < still) return 'steady';
  const way = perDay > 0 ? 'rising' : 'falling';
  const isFast = band !== null && Math.abs(perDay) > 4 * (band.high - band.low);
  const [amount, span] = isFast ? [perDay / 24, 'an hour'] : [perDay, 'a day'];
  return `${way} ${amountText(metric, amount, metric.value ?? 0)} ${span}`;
}
