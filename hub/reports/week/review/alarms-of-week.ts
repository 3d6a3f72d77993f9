import { alarmFigures } from '#rules/bands/alarm-figures.ts';
import { ruleKinds } from '#rules/bands/kinds/list.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import type { AlarmReview } from '../../../model/answers/review-schema.ts';
import type { Config } from '../../../model/config/schema.ts';
import type { BodyOf } from '../../../model/journal/bodies.ts';
import { type Entry, ofKind } from '../../../model/journal/journal.ts';
import { absent, type Figure, known } from './figure.ts';
import type { ReviewSpan } from './review-span.ts';

/** An event of an alarm as the journal kept it, also of a rule that is no more. */
export type AlarmBody = BodyOf<'alarm'>;

/** What the journal kept of the alarms. */
export function alarmEvents(entries: readonly Entry[]): AlarmBody[] {
  return ofKind(entries, 'alarm').map(({ body, timeMs }) => ({ ...body, timeMs }));
}

const isRaise = ({ state }: AlarmBody) => state === 'raised' || state === 'reraised';

/**
 * The figures by which ISA-18.2 and IEC 62682 judge an alarm system (names from memory): how many, how many a day, how long
 * at least one stood, which came again and again.
 *
 * @param events     oldest first, also those before the week: an alarm may have stood since
 * @param isWatched  false where nothing at all was recorded: then no alarm is not the same as none known
 */
export function alarmsOfWeek(
  config: Config,
  events: readonly AlarmBody[],
  isWatched: boolean,
  span: ReviewSpan,
): AlarmReview {
  const until = events.filter(({ timeMs }) => timeMs < span.asOfMs);
  const figures = alarmFigures(until, span.fromMs, span.asOfMs);
  const raises = until.filter((event) => isRaise(event) && event.timeMs >= span.fromMs);
  const figure = (value: number): Figure =>
    isWatched ? known(value) : absent('nothing was recorded this week, so nothing was watched');
  const { longestStanding } = figures;
  return {
    raised: figure(figures.raised),
    perDay: figure(figures.raisedPerDay),
    byPriority: {
      high: figure(raises.filter(({ priority }) => priority === 'high').length),
      medium: figure(raises.filter(({ priority }) => priority === 'medium').length),
      low: figure(raises.filter(({ priority }) => priority === 'low').length),
    },
    timeInAlarm: figure(figures.timeInAlarm),
    standingMs: figure(figures.timeInAlarm * (span.asOfMs - span.fromMs)),
    longestMs: longestStanding === undefined ? absent('no active alarm') : known(longestStanding.durationMs),
    longest: longestStanding === undefined ? null : wordsOf(config, until, longestStanding.alarm),
    longestStands: longestStanding?.isStanding ?? false,
    chattering: figures.chattering.map((alarm) => wordsOf(config, until, alarm)),
    mostFrequent: figures.mostFrequent.map(({ alarm, raised }) => ({
      alarm,
      raised,
      words: wordsOf(config, until, alarm),
    })),
    perDate: span.days.map(({ date, startMs, endMs }) => ({
      date,
      raised: figure(raises.filter(({ timeMs }) => timeMs >= startMs && timeMs < endMs).length),
    })),
  };
}

/** Those that stand at the end of the week, the one that stands longest first. */
export function standingAtEnd(events: readonly AlarmBody[], span: ReviewSpan): { event: AlarmBody; sinceMs: number }[] {
  const standing = new Map<string, { event: AlarmBody; sinceMs: number }>();
  for (const event of events) {
    if (event.timeMs >= span.asOfMs) continue;
    if (event.state === 'cleared') standing.delete(event.alarm);
    else if (isRaise(event)) {
      const sinceMs = standing.get(event.alarm)?.sinceMs ?? event.timeMs;
      standing.set(event.alarm, { event, sinceMs });
    }
  }
  return [...standing.values()].sort((one, other) => one.sinceMs - other.sinceMs);
}

const ruleWords: Partial<Record<string, string>> = {
  out_of_band: 'out of its band',
  rate: 'changes too fast',
  swing: 'swings too much',
  drift: 'drifts out of its band',
  departure: 'leaves its usual day',
  edge_fault: 'a link is down',
};

/** An alarm in the keeper's words: which tank, what, which rule, and the part of its id that tells it from another. */
function wordsOf(config: Config, events: readonly AlarmBody[], alarm: string): string {
  const event = events.findLast((each) => each.alarm === alarm);
  if (event === undefined) return alarm;
  const system = config.systems.find(({ id }) => id === event.system)?.name ?? (event.system || config.site.name);
  const label = isMetric(event.metric) ? `${metricFacts[event.metric].label} ` : '';
  const isKnown = (ruleKinds as readonly string[]).includes(event.rule);
  const rule = ruleWords[event.rule] ?? (isKnown ? event.rule.replaceAll('_', ' ') : event.rule);
  const tail = alarm.split('/').slice(3).join(' ');
  return `${system}: ${label}${rule}${tail === '' ? '' : ` (${tail})`}`;
}
