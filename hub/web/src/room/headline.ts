import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import type { MetricView, RoomView, SystemView } from '../../../api/room.ts';
import { inSentence, listed, stateWords, suddenWords } from '../kit/words.ts';
import { leaveWords, mayBeOutside } from './ahead-words.ts';
import { foresee, isCalm, type Order, rowsOf, urgency } from './foresight.ts';

/**
 * The sentences above the rows. They are made from the same orders and words as the rows below them, so that the two cannot
 * contradict each other: what a headline leaves out of "everything else" is named in it.
 */

function capital(text: string): string {
  // pH keeps its small letter.
  return /^p[A-Z]/.test(text) ? text : text.charAt(0).toUpperCase() + text.slice(1);
}

const names = (metrics: readonly MetricView[]) => listed(metrics.map(({ label }) => inSentence(label)));
const areOrIs = (metrics: readonly MetricView[]) => (metrics.length === 1 ? 'is' : 'are');

/** The one sentence over the rows of a system: which metric leaves its band first, and when. */
export function sentenceOf(system: SystemView, nowMs: number, zone: string, isOneOfMany = false): string {
  const { first } = rowsOf(system.metrics, nowMs);
  if (first.length === 0) return 'Nothing is measured here yet.';
  const untested = first.filter(({ value, probe }) => value === null && probe === null);
  if (untested.length === first.length) return `No test of ${names(untested)} yet.`;
  const { parts, told } = pressingParts(system, first, nowMs, zone);
  const rest = first.filter((metric) => !told.has(metric) && !untested.includes(metric));
  const unsure = rest.filter((metric) => leaveWords(metric, nowMs, zone) !== undefined);
  const [next] = unsure;
  const nextWords = next === undefined ? '' : `${inSentence(next.label)} ${leaveWords(next, nowMs, zone)}`;
  const isPressing = parts.length > 0;
  if (!isPressing && untested.length > 0) parts.push(`no test of ${names(untested)} yet`);
  // What a person who passes by must know is what presses; what is steady beside it can be seen when it is opened.
  if (isPressing && isOneOfMany) return `${capital(parts.join('; '))}.`;
  const whole = isPressing || untested.length > 0 ? 'everything else' : 'everything';
  if (next === undefined && rest.length > 0 && !(isPressing && untested.length > 0))
    parts.push(`${whole} is steady${isPressing ? '' : ' in its band'}`);
  if (next !== undefined) {
    // Of a row that may be outside already, "everything" would say the opposite.
    const isDoubted = mayBeOutside(next, nowMs);
    const others = isDoubted ? 'everything else' : whole;
    if (!isPressing && !(isDoubted && rest.length === 1)) parts.push(`${others} is in its band`);
    parts.push(nextWords);
  }
  return `${capital(parts.join('; '))}.`;
}

/** What asks for a look, worst first, and the rows that are named with it. */
function pressingParts(
  system: SystemView,
  first: readonly MetricView[],
  nowMs: number,
  zone: string,
): { parts: string[]; told: Set<MetricView> } {
  const parts: string[] = [];
  const told = new Set<MetricView>();
  const tell = (metrics: readonly MetricView[], words: string) => {
    if (metrics.length === 0) return;
    parts.push(words);
    for (const metric of metrics) told.add(metric);
  };
  const of = (order: Order) => first.filter((metric) => foresee(metric, nowMs).order === order);
  const outside = of('outside');
  const [left] = outside;
  const outsideWords =
    outside.length === 1 && left !== undefined ? `is ${stateWords(left, nowMs)}` : 'are outside their bands';
  tell(outside, `${names(outside)} ${outsideWords}`);
  const leaving = of('leaving');
  const [next] = leaving;
  if (next !== undefined) tell([next], `${inSentence(next.label)} ${leaveWords(next, nowMs, zone)}`);
  const more = leaving.slice(1);
  tell(more, `${more.length} more will follow within two days`);
  const unheard = of('unheard');
  tell(unheard, `no signal from ${names(unheard)}`);
  const doubtful = of('doubtful');
  tell(doubtful, `${names(doubtful)} ${areOrIs(doubtful)} in doubt`);
  const alarmed = first.filter(
    (metric) => !told.has(metric) && system.alarms.some((alarm) => alarm.metric === metric.metric && isCounted(alarm)),
  );
  tell(alarmed, `an alarm on ${names(alarmed)} is still active`);
  const sudden = of('unsure').filter((metric) => suddenWords(metric) !== undefined && !told.has(metric));
  tell(sudden, `${names(sudden)} ${sudden.length === 1 ? 'has' : 'have'} jumped`);
  return { parts, told };
}

/** The sentence on top of the room. */
export function sentenceOfRoom(view: RoomView, nowMs: number): string {
  const active = view.systems.flatMap(({ name, alarms }) => alarms.filter(isCounted).map(() => name));
  const places = [...new Set(active)];
  // More names than one are a list that nobody reads from across the room.
  const where = places.length > 1 ? `${places.length} systems` : listed(places);
  const alarms =
    active.length === 0 ? '' : `${active.length} active alarm${active.length === 1 ? '' : 's'} in ${where}. `;
  const [only] = view.systems;
  if (view.systems.length === 1 && only !== undefined) return alarms + sentenceOf(only, nowMs, view.timezone);
  const pressing = view.systems
    .filter((system) => !isCalm(system, nowMs))
    .toSorted((a, b) => urgency(a, nowMs) - urgency(b, nowMs));
  const calm = view.systems.filter((system) => !pressing.includes(system));
  const [worst] = pressing;
  if (worst === undefined) return alarms + calmWords(calm, nowMs, view.timezone);
  const others = pressing.length - 1;
  const otherWords = others === 0 ? '' : `${others} more ${others === 1 ? 'needs' : 'need'} a look`;
  const rest =
    calm.length === 1 && others === 0 ? 'the other one' : `${others === 0 ? 'the other ' : ''}${calm.length}`;
  const areCalm = calm.every((system) => isSteady(system, nowMs, view.timezone)) ? 'steady' : 'without alarms';
  const restWords = calm.length === 0 ? '' : `${rest} ${calm.length === 1 ? 'is' : 'are'} ${areCalm}`;
  const after = [otherWords, restWords].filter((part) => part !== '').join(', ');
  const about = inSentence(sentenceOf(worst, nowMs, view.timezone, true));
  const isNamed = places.length === 1 && places[0] === worst.name;
  if (isNamed) return `${alarms.replace(/\. $/, ': ')}${about}${after === '' ? '' : ` ${capital(after)}.`}`;
  // The worst first: whoever reads one line of it has read the right one.
  return `${worst.name}: ${about} ${alarms}${after === '' ? '' : `${capital(after)}.`}`.trim();
}

/** Every row is known, and none is expected to leave its band. */
function isSteady(system: SystemView, nowMs: number, zone: string): boolean {
  return rowsOf(system.metrics, nowMs).first.every(
    (metric) => metric.value !== null && leaveWords(metric, nowMs, zone) === undefined,
  );
}

/** Of several systems that need nobody: steady, or the one that is the least certain. */
function calmWords(calm: readonly SystemView[], nowMs: number, zone: string): string {
  const unsure = calm
    .filter((system) => !isSteady(system, nowMs, zone))
    .toSorted((a, b) => urgency(a, nowMs) - urgency(b, nowMs));
  const [first] = unsure;
  if (first === undefined) return `Everything is steady in its band in all ${calm.length} systems.`;
  return `No active alarms. ${first.name}: ${inSentence(sentenceOf(first, nowMs, zone, true))}`;
}
