import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { CoralReview, ReviewEvent } from '../../../model/answers/review-schema.ts';
import { tellingName } from '../../../model/config/probe-name.ts';
import type { Config } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import type { AlarmBody } from './alarms-of-week.ts';
import { changesSeen, type SeenConfiguration } from './configuration-seen.ts';
import type { ReviewSpan } from './review-span.ts';

/** A week of a bad heater has hundreds of alarms; their number stands among the figures, the first of them here. */
const mostAlarms = 40;

/** What happened, oldest first: alarms as they were raised, arrivals, losses, water changes, notes that a person wrote. */
export function happenedInWeek(
  config: Config,
  events: readonly AlarmBody[],
  entries: readonly Entry<'water_change' | 'test' | 'dose'>[],
  corals: CoralReview,
  span: ReviewSpan,
): ReviewEvent[] {
  const nameOf = systemNames(config);
  const raised = events.filter(
    ({ state, timeMs }) => state === 'raised' && timeMs >= span.fromMs && timeMs < span.asOfMs,
  );
  const told = [...raised].sort((one, other) => rank[one.priority] - rank[other.priority]).slice(0, mostAlarms);
  const left = raised.length - told.length;
  const sayAll = (some: readonly Entry<'water_change' | 'test' | 'dose'>[]) =>
    some.flatMap((entry) => {
      const words = wordsOf(entry);
      return words === undefined ? [] : [{ timeMs: entry.timeMs, systemName: nameOf(entry.system), words }];
    });
  return [
    ...told.map(({ timeMs, system, priority, message }) => ({
      timeMs,
      systemName: nameOf(system),
      words: `Alarm (${priority}): ${message}`,
    })),
    ...(left === 0 ? [] : [{ timeMs: span.asOfMs, systemName: '', words: `and ${left} more alarms` }]),
    ...sayAll(entries.filter(({ kind }) => kind === 'water_change')),
    ...toldOnce(sayAll(entries.filter(({ kind }) => kind !== 'water_change'))),
    ...corals.arrivals.map(({ timeMs, systemName, name, words }) => ({
      timeMs,
      systemName,
      words: `Arrived: ${name}${words === '' ? '' : ` (${words})`}`,
    })),
    ...corals.losses.map(({ timeMs, systemName, name, words }) => ({
      timeMs,
      systemName,
      words: `Lost: ${name}, cause: ${words}`,
    })),
  ].sort((one, other) => one.timeMs - other.timeMs);
}

/** A pump's note stands with each of its doses: the same words about the same system are one line, with their number. */
function toldOnce(events: readonly ReviewEvent[]): ReviewEvent[] {
  const same = new Map<string, { first: ReviewEvent; times: number }>();
  for (const event of events) {
    const key = `${event.systemName}\n${event.words}`;
    const known = same.get(key);
    if (known === undefined) same.set(key, { first: event, times: 1 });
    else {
      known.times += 1;
      if (event.timeMs < known.first.timeMs) known.first = event;
    }
  }
  return [...same.values()].map(({ first, times }) =>
    times === 1 ? first : { ...first, words: `${first.words} (${times} times in the week)` },
  );
}

const rank = { high: 0, medium: 1, low: 2 } as const;

function wordsOf({ kind, body }: Entry<'water_change' | 'test' | 'dose'>): string | undefined {
  const note = body.note === '' ? undefined : body.note;
  if (kind === 'water_change') return `${body.volume_l} L of water changed${note === undefined ? '' : `: ${note}`}`;
  return note === undefined ? undefined : `Note with a ${kind}: ${note}`;
}

/**
 * What became another, oldest first: plans, containers, calibrations by the journal; bands and probes by the configuration.
 *
 * @param entries  of kinds `plan`, `refill`, `calibration` and `note`, of the week; of the notes those about settings count
 */
export function changedInWeek(
  config: Config,
  entries: readonly Change[],
  seen: readonly SeenConfiguration[],
  span: ReviewSpan,
  units: KeepersUnits,
): ReviewEvent[] {
  const nameOf = systemNames(config);
  return [
    ...entries.filter(isChange).map((entry) => ({
      timeMs: entry.timeMs,
      systemName: nameOf(entry.system),
      words: changeWords(config, entry),
    })),
    ...changesSeen(seen, span.fromMs, span.asOfMs, units),
  ].sort((one, other) => one.timeMs - other.timeMs);
}

type Change = Entry<'plan' | 'refill' | 'calibration' | 'note'>;

function isChange({ kind, body }: Change): boolean {
  return kind !== 'note' || body.about === 'settings';
}

function changeWords(config: Config, { kind, system, body }: Change): string {
  if (kind === 'note') return body.note.replace(/^settings: /, 'Settings: ');
  if (kind === 'calibration') {
    const why = body.why === '' ? '' : ` (${body.why})`;
    const { metric, name } = config.probes.find(({ id }) => id === body.probe) ?? {};
    const label = metric === undefined ? '' : metricFacts[metric].label;
    const told =
      name ?? (tellingName(config, system, body.probe) === undefined ? `${label} probe` : `Probe ${body.probe}`);
    return `${told} calibrated by ${body.by}, judged ${body.verdict.state.replaceAll('_', ' ')}${why}`;
  }
  const stocks = config.systems.find(({ id }) => id === system)?.stocks ?? [];
  const stock = stocks.find(({ id }) => id === body.stock)?.name ?? body.stock;
  if (kind === 'refill') return `Container of ${stock} filled${body.ml === undefined ? '' : ` to ${body.ml} mL`}`;
  const ml = body.ml_per_day;
  return ml > 0 ? `Standing plan: ${ml} mL of ${stock} a day from now on` : `Standing plan of ${stock} ended`;
}

function systemNames(config: Config): (system: string) => string {
  return (system) =>
    config.systems.find(({ id }) => id === system)?.name ?? (system === '' ? config.site.name : system);
}
