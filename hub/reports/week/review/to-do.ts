import type { RuleKind } from '#rules/bands/watched-room.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import { isMetric, metricFacts } from '#rules/quantity/metric.ts';
import type { ToDo } from '../../../model/answers/review-schema.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import { readJournal } from '../../../model/journal/journal.ts';
import { standingAtEnd } from './alarms-of-week.ts';
import { inSentence, lengthWords } from './figure-words.ts';
import type { ReviewSpan } from './review-span.ts';
import { pestsDue } from './to-do-of-pests.ts';
import { bandsNotKept, probesNotHeard } from './to-do-of-readings.ts';
import { calibrationsOverdue, containersLow, testsOverdue } from './to-do-of-upkeep.ts';
import { placeOf, type ToDoSources } from './to-do-sources.ts';

/** Advice of all analytes of a system that is looked through for the last of each. */
const mostAdviceRead = 60;
/** Rules whose cause has a line of its own in the list. */
const ownLines: ReadonlySet<string> = new Set<RuleKind>([
  'out_of_band',
  'swing',
  'test_overdue',
  'calibration_overdue',
  'container_low',
]);

/**
 * What is to be done, each with the fact that asks for it, as it was known at the end of the week: what the keeper should
 * see first comes first. Empty when nothing is due.
 */
export function toDoOf(sources: ToDoSources, span: ReviewSpan): ToDo[] {
  return [
    ...bandsNotKept(sources),
    ...probesNotHeard(sources, span),
    ...alarmsStanding(sources, span),
    ...sources.config.systems.flatMap((system) => [
      ...adviceOpen(sources, system, span),
      ...testsOverdue(sources, system, span),
      ...calibrationsOverdue(sources, system, span),
      ...containersLow(sources, system, span),
      ...pestsDue(sources, system, span),
    ]),
  ];
}

function alarmsStanding({ config, events }: ToDoSources, span: ReviewSpan): ToDo[] {
  return standingAtEnd(events, span)
    .filter(({ event }) => !ownLines.has(event.rule))
    .map(({ event, sinceMs }) => {
      const { system, metric } = event;
      const label = isMetric(metric) ? metricFacts[metric].label : 'the room';
      return {
        kind: 'alarm',
        system,
        systemName: config.systems.find(({ id }) => id === system)?.name ?? config.site.name,
        what: `Look into the alarm about ${inSentence(label)}: ${event.rule.replaceAll('_', ' ')}`,
        short: `look into ${event.rule.replaceAll('_', ' ')}`,
        reason: `active for ${lengthWords(span.asOfMs - sinceMs)}: ${event.message}`,
      };
    });
}

/** The last word on each analyte, when it asks for a dose or says why none can be advised. */
function adviceOpen({ store }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const last = new Map<string, Advice>();
  const query = {
    kind: 'advice',
    system: system.id,
    toMs: span.asOfMs,
    order: 'newest',
    limit: mostAdviceRead,
  } as const;
  for (const { body } of readJournal(store, query)) {
    if (!last.has(body.analyte)) last.set(body.analyte, body.advice);
  }
  return [...last].flatMap(([analyte, advice]): ToDo[] => {
    if (advice.kind !== 'dose' && advice.kind !== 'hold_back') return [];
    const label = isMetric(analyte) ? inSentence(metricFacts[analyte].label) : analyte;
    const isDose = advice.kind === 'dose';
    return [
      {
        kind: 'advice',
        ...placeOf(system),
        what: isDose ? `Decide on the advice about ${label}` : `Clear up ${label}: no dose can be advised`,
        short: isDose ? `advice on ${label}` : `clear up ${label}`,
        reason: advice.reason,
      },
    ];
  });
}
