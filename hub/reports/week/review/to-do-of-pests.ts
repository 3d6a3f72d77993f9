import { dayMs } from '#rules/clock/durations.ts';
import { arrivalsFromText } from '../../../judgement/arrivals/arrivals-state.ts';
import { loadPests, pestById } from '../../../judgement/arrivals/pest-file.ts';
import { nextTasks, pestWatch } from '../../../judgement/arrivals/pest-watch.ts';
import type { ToDo } from '../../../model/answers/review-schema.ts';
import { spokenDate } from '../../../model/calendar/local-day.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import type { ReviewSpan } from './review-span.ts';
import { placeOf, type ToDoSources } from './to-do-sources.ts';

/** Inspections and repeat dips that are due by the end of the week that begins. */
export function pestsDue({ config, store }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const kept = store.document('arrivals-state');
  const arrivals = (kept === undefined ? undefined : arrivalsFromText(kept))?.arrivals ?? [];
  const { timezone } = config.site;
  const pests = loadPests(config.pests_file);
  const dateOf = (timeMs: number) => spokenDate(timeMs, timezone);
  return arrivals.flatMap((arrival): ToDo[] => {
    const { arrivedMs } = arrival;
    if (arrival.system !== system.id || arrival.state !== 'arrived' || arrivedMs === undefined) return [];
    if (arrivedMs >= span.asOfMs) return [];
    // As it was known then: what was done later was still open.
    const then = {
      ...arrival,
      dipsMs: arrival.dipsMs.filter((timeMs) => timeMs < span.asOfMs),
      inspections: arrival.inspections.filter(({ timeMs }) => timeMs < span.asOfMs),
    };
    const watch = pestWatch(store, system, then, pestById(pests, arrival.pest), span.asOfMs, timezone);
    const { dip, inspection } = nextTasks(watch?.plan?.tasks ?? [], span.asOfMs);
    const untilMs = span.asOfMs + 7 * dayMs;
    const todo = (what: string, short: string, reason: string): ToDo => ({
      kind: 'pest',
      ...placeOf(system),
      what,
      short,
      reason,
    });
    return [
      ...(dip === undefined || dip.dueMs >= untilMs
        ? []
        : [
            todo(
              `Dip ${arrival.name} again`,
              `dip ${arrival.name}`,
              `against ${watch?.pest ?? 'pests'}, best on ${dateOf(dip.dueMs)}; by the label of what you dip in`,
            ),
          ]),
      ...(inspection === undefined || inspection.dueMs >= untilMs
        ? []
        : [
            todo(
              `Inspect ${arrival.name} for pests`,
              `inspect ${arrival.name}`,
              `due ${inspection.dueMs < span.asOfMs ? 'since' : 'on'} ${dateOf(inspection.dueMs)}; look for ${watch?.lookFor ?? 'pests'}`,
            ),
          ]),
    ];
  });
}
