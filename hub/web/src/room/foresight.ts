import type { MetricView, RoomView, SystemView } from '../../../http/room-view.ts';
import { whenText } from '../kit/times.ts';
import { inSentence, listed, stateOf, stateWords, suddenWords } from '../kit/words.ts';

/** Why a row stands where it stands, the most urgent first. */
const orders = ['outside', 'leaving', 'unheard', 'doubtful', 'unsure', 'steady', 'unbanded'] as const;
export type Order = (typeof orders)[number];
export type Foresight = { order: Order; at: number };

/** What is computed from another row, or shown by one in other words, and is watched by no band of its own. */
const derived = new Set([
  'conductivity',
  'specific_conductance_25',
  'specific_gravity',
  'pco2',
  'aragonite_saturation',
]);

export function foresee(metric: MetricView, nowMs: number): Foresight {
  const state = stateOf(metric, nowMs);
  const { outlook, band } = metric;
  if (state === 'outside') return { order: 'outside', at: nowMs };
  if (state === 'stale' || (state === 'unknown' && metric.probe !== null)) return { order: 'unheard', at: nowMs };
  // What nobody has tested so far is neither steady nor silent.
  if (state === 'unknown') return { order: 'unbanded', at: Infinity };
  if (state === 'doubtful') return { order: 'doubtful', at: nowMs };
  if (outlook?.leavesAt != null) return { order: 'leaving', at: outlook.leavesAt };
  if (band === null) return { order: 'unbanded', at: Infinity };
  if (suddenWords(metric) !== undefined) return { order: 'unsure', at: nowMs };
  if (outlook?.mayLeaveAt != null) return { order: 'unsure', at: outlook.mayLeaveAt };
  return { order: 'steady', at: Infinity };
}

/** Share of the half band between the value and the nearer edge: the tie-breaker of rows that all stay. */
function room(metric: MetricView): number {
  if (metric.band === null || metric.value === null) return Infinity;
  const { low, high } = metric.band;
  return Math.min(metric.value - low, high - metric.value) / (high - low);
}

export type Rows = { first: MetricView[]; folded: MetricView[] };

/** The rows by time to leave the band; what only repeats another row is folded away. */
export function rowsOf(metrics: readonly MetricView[], nowMs: number): Rows {
  const ranked = metrics.map((metric) => ({ metric, ...foresee(metric, nowMs) }));
  ranked.sort(
    (a, b) =>
      orders.indexOf(a.order) - orders.indexOf(b.order) ||
      (a.at === b.at ? room(a.metric) - room(b.metric) || 0 : a.at - b.at),
  );
  const isFolded = (metric: MetricView) => metric.band === null && derived.has(metric.metric);
  return {
    first: ranked.filter(({ metric }) => !isFolded(metric)).map(({ metric }) => metric),
    folded: ranked.filter(({ metric }) => isFolded(metric)).map(({ metric }) => metric),
  };
}

/** An urgency from here on needs nobody: no alarm, and at most unsure. */
const pressingBelow = 3000 + orders.indexOf('unsure') * 100;

/** How urgent a system is, for the order on a wall of many: smaller is more urgent. */
export function urgency(system: SystemView, nowMs: number): number {
  const first = rowsOf(system.metrics, nowMs).first[0];
  const alarms = system.alarms.filter((alarm) => alarm.isStanding);
  const loudest = Math.min(3, ...alarms.map(({ priority }) => ({ high: 0, medium: 1, low: 2 })[priority]));
  if (first === undefined) return loudest * 1e3 + 999;
  const { order, at } = foresee(first, nowMs);
  return loudest * 1e3 + orders.indexOf(order) * 100 + Math.min(99, Math.max(0, (at - nowMs) / 3_600_000));
}

/** In its band as far as it can be told, and it will not leave it within two days, nor has it jumped. */
export function isQuiet(metric: MetricView, nowMs: number): boolean {
  const { order } = foresee(metric, nowMs);
  return orders.indexOf(order) >= orders.indexOf('unsure') && suddenWords(metric) === undefined;
}

/** No alarm stands in it, and everything in it is quiet. */
function isCalm(system: SystemView, nowMs: number): boolean {
  return urgency(system, nowMs) >= pressingBelow && system.metrics.every((metric) => isQuiet(metric, nowMs));
}

function capital(text: string): string {
  // pH keeps its small letter.
  return /^p[A-Z]/.test(text) ? text : text.charAt(0).toUpperCase() + text.slice(1);
}

function hasAlarm(system: SystemView, { metric }: MetricView): boolean {
  return system.alarms.some((alarm) => alarm.metric === metric && alarm.isStanding && alarm.state !== 'suppressed');
}

/** What the tests foretell is there already, though the last of them was still inside: it can only be believed or tested. */
export function isLeftByNow(at: number, nowMs: number): boolean {
  return at - nowMs < 5 * 60_000;
}

function leavingWords(at: number, nowMs: number, zone: string): string {
  if (isLeftByNow(at, nowMs)) return 'should be out of its band by now';
  return `will leave its band ${whenText(at, nowMs, zone)}`;
}

/**
 * The one sentence over the rows of a system: which metric leaves its band first, and when.
 *
 * @param isOneOfMany  what else is steady in it is then not what a person who passes by must know
 */
export function sentenceOf(system: SystemView, nowMs: number, zone: string, isOneOfMany = false): string {
  const { first } = rowsOf(system.metrics, nowMs);
  const of = (order: Order) => first.filter((metric) => foresee(metric, nowMs).order === order);
  const names = (metrics: readonly MetricView[]) => listed(metrics.map(({ label }) => inSentence(label)));
  const parts: string[] = [];
  const outside = of('outside');
  const [left] = outside;
  if (left !== undefined)
    parts.push(`${names(outside)} ${outside.length > 1 ? 'are outside their bands' : `is ${stateWords(left, nowMs)}`}`);
  const [next] = of('leaving');
  if (next !== undefined) parts.push(`${inSentence(next.label)} ${leavingWords(foresee(next, nowMs).at, nowMs, zone)}`);
  const unheard = of('unheard');
  if (unheard.length > 0) parts.push(`nothing is heard of ${names(unheard)}`);
  const doubtful = of('doubtful');
  if (doubtful.length > 0) parts.push(`${names(doubtful)} ${doubtful.length === 1 ? 'is' : 'are'} in doubt`);
  const alarmed = first.filter(
    (metric) => !outside.includes(metric) && metric !== next && hasAlarm(system, metric) && !unheard.includes(metric),
  );
  if (alarmed.length > 0) parts.push(`an alarm on ${names(alarmed)} still stands`);
  const sudden = of('unsure').filter((metric) => suddenWords(metric) !== undefined && !alarmed.includes(metric));
  if (sudden.length > 0) parts.push(`${names(sudden)} ${sudden.length === 1 ? 'has' : 'have'} suddenly moved`);
  const told =
    alarmed.length + sudden.length + outside.length + (next === undefined ? 0 : 1) + unheard.length + doubtful.length;
  const others = of('leaving').length - (next === undefined ? 0 : 1);
  if (parts.length === 0) {
    const [unsure] = of('unsure');
    if (first.length === 0) return 'Nothing is measured here yet.';
    const untested = first.filter(({ value }) => value === null);
    if (untested.length === first.length) return `Nothing is known of ${names(untested)} yet.`;
    if (unsure === undefined && untested.length > 0)
      return capital(
        `${names(untested)} ${untested.length === 1 ? 'is' : 'are'} not known yet; everything else is steady inside its band.`,
      );
    return unsure === undefined
      ? 'Everything is steady inside its band.'
      : `Everything should stay in its band for two days; ${inSentence(unsure.label)} is the least sure.`;
  }
  if (others > 0) parts.push(`${others} more will follow within two days`);
  else if (first.length > told && !isOneOfMany) parts.push('everything else is steady');
  return `${capital(parts.join('; '))}.`;
}

/** The sentence on top of the room. */
export function sentenceOfRoom(view: RoomView, nowMs: number): string {
  const standing = view.systems.flatMap(({ name, alarms }) =>
    alarms.filter((alarm) => alarm.isStanding && alarm.state !== 'suppressed').map(() => name),
  );
  const places = [...new Set(standing)];
  // More names than one are a list that nobody reads from across the room.
  const where = places.length > 1 ? `${places.length} systems` : listed(places);
  const alarms =
    standing.length === 0
      ? ''
      : `${standing.length === 1 ? 'One alarm stands' : `${standing.length} alarms stand`} in ${where}. `;
  const [only] = view.systems;
  if (view.systems.length === 1 && only !== undefined) return alarms + sentenceOf(only, nowMs, view.timezone);
  const pressing = view.systems
    .filter((system) => !isCalm(system, nowMs))
    .toSorted((a, b) => urgency(a, nowMs) - urgency(b, nowMs));
  const [worst] = pressing;
  if (worst === undefined)
    return `${alarms}Everything in all ${view.systems.length} systems should stay in its band for two days.`;
  const rest = view.systems.length - pressing.length;
  const others = pressing.length - 1;
  const otherWords = others === 0 ? '' : `${others} more ${others === 1 ? 'needs' : 'need'} a look`;
  const restWords = rest === 0 ? '' : `${others === 0 ? 'the other ' : ''}${rest} ${rest === 1 ? 'is' : 'are'} steady`;
  const after = [otherWords, restWords].filter((part) => part !== '').join(', ');
  const about = inSentence(sentenceOf(worst, nowMs, view.timezone, true));
  const isNamed = places.length === 1 && places[0] === worst.name;
  if (isNamed) return `${alarms.replace(/\. $/, ': ')}${about}${after === '' ? '' : ` ${capital(after)}.`}`;
  // The worst first: whoever reads one line of it has read the right one.
  return `${worst.name}: ${about} ${alarms}${after === '' ? '' : `${capital(after)}.`}`.trim();
}
