import type { Store } from '#adapters/ports/store.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { amountText, bandText } from '#rules/words/value-text.ts';
import type { Config } from '../../../model/config/schema.ts';
import type { HeldFrom } from '../../../model/config/system-at.ts';

const documentName = 'configuration_seen';
/** Four a week for a year; beyond it the oldest are forgotten. */
const mostKept = 200;

type SeenBand = Config['systems'][number]['bands'][Metric];

/** What the review rests on, as the configuration said it from a time on. */
export type SeenConfiguration = {
  seenMs: number;
  systems: {
    id: string;
    name: string;
    volume_l: number;
    /** Not of what was noted before stocks were. */
    stocks?: Config['systems'][number]['stocks'];
    bands: Partial<Record<Metric, NonNullable<SeenBand>>>;
    plan: { stock: string; ml_per_day: number }[];
  }[];
  probes: { id: string; system: string; metric: string }[];
};

function seenNow(config: Config, nowMs: number): SeenConfiguration {
  return {
    seenMs: nowMs,
    systems: config.systems.map(({ id, name, volume_l, stocks, bands, standing_plan }) => ({
      id,
      name,
      volume_l,
      stocks,
      bands: bands as SeenConfiguration['systems'][number]['bands'],
      plan: standing_plan.map(({ stock, ml_per_day }) => ({ stock, ml_per_day })),
    })),
    probes: config.probes.map(({ id, system, metric }) => ({ id, system, metric })),
  };
}

/** Oldest first; empty when nothing was noted, or when the note is damaged. */
export function configurationsSeen(store: Pick<Store, 'document'>): SeenConfiguration[] {
  try {
    const found: unknown = JSON.parse(store.document(documentName) ?? '[]');
    return Array.isArray(found) ? found.filter(isSeen) : [];
  } catch {
    return [];
  }
}

function isSeen(found: Partial<SeenConfiguration> | null): found is SeenConfiguration {
  return typeof found?.seenMs === 'number' && Array.isArray(found.systems) && Array.isArray(found.probes);
}

/** Notes the configuration when it is another one than was noted last, so that a week is judged by the bands of its time. */
export function noteConfiguration(store: Pick<Store, 'document' | 'commit'>, config: Config, nowMs: number): void {
  const seen = configurationsSeen(store);
  const now = seenNow(config, nowMs);
  const last = seen.at(-1);
  if (last !== undefined && JSON.stringify({ ...last, seenMs: 0 }) === JSON.stringify({ ...now, seenMs: 0 })) return;
  store.commit({ documents: [{ name: documentName, body: JSON.stringify([...seen, now].slice(-mostKept)) }] });
}

/** What doses of the past are reckoned with. */
export function heldBefore(seen: readonly SeenConfiguration[]): HeldFrom[] {
  return seen.map(({ seenMs, systems }) => ({
    fromMs: seenMs,
    systems: new Map(systems.map(({ id, volume_l, stocks, plan }) => [id, { volume_l, stocks, plan }])),
  }));
}

/** What was in force at a time: the last that was seen before it; the one of now where nothing older is known. */
export function configurationAt(seen: readonly SeenConfiguration[], config: Config, timeMs: number): SeenConfiguration {
  return seen.findLast(({ seenMs }) => seenMs < timeMs) ?? seenNow(config, timeMs);
}

export type SeenChange = { timeMs: number; systemName: string; words: string };

/**
 * What became another in [fromMs, toMs), when the hub saw it, with bands in the units that the keeper reads. The first that was
 * ever noted is no change.
 */
export function changesSeen(
  seen: readonly SeenConfiguration[],
  fromMs: number,
  toMs: number,
  units: KeepersUnits,
): SeenChange[] {
  return seen.flatMap((after, index) => {
    const before = seen[index - 1];
    if (before === undefined || after.seenMs < fromMs || after.seenMs >= toMs) return [];
    return changesBetween(before, after, units);
  });
}

function changesBetween(before: SeenConfiguration, after: SeenConfiguration, units: KeepersUnits): SeenChange[] {
  const changes: SeenChange[] = [];
  const say = (systemName: string, words: string) => void changes.push({ timeMs: after.seenMs, systemName, words });
  for (const system of after.systems) {
    const old = before.systems.find(({ id }) => id === system.id);
    if (old === undefined) {
      say(system.name, 'is new in the configuration');
      continue;
    }
    if (old.name !== system.name) say(system.name, `was called ${old.name}`);
    if (old.volume_l !== system.volume_l)
      say(system.name, `volume changed from ${old.volume_l} L to ${system.volume_l} L`);
    for (const metric of metrics) {
      const [from, to] = [old, system].map(({ bands }) => bandWords(metric, bands[metric], units));
      if (from !== to) say(system.name, `${metricFacts[metric].label}: band was ${from}, now ${to}`);
    }
    for (const stock of system.stocks ?? []) {
      const words = stockWords(
        old.stocks?.find(({ id }) => id === stock.id),
        stock,
      );
      if (words !== undefined) say(system.name, words);
    }
    for (const stock of new Set([...old.plan, ...system.plan].map((plan) => plan.stock))) {
      const [from, to] = [old.plan, system.plan].map((plan) => perDay(plan, stock));
      if (from !== to) say(system.name, `standing plan of ${stock}: changed from ${from} to ${to} mL a day`);
    }
  }
  for (const { id, name } of before.systems)
    if (!after.systems.some((system) => system.id === id)) say(name, 'is no longer in the configuration');
  const nameOf = (id: string) => after.systems.find((system) => system.id === id)?.name ?? id;
  const words = ({ id, metric }: SeenConfiguration['probes'][number]) => `probe ${id} (${metric.replaceAll('_', ' ')})`;
  const isIn = (probes: SeenConfiguration['probes'], { id, system, metric }: SeenConfiguration['probes'][number]) =>
    probes.some((each) => each.id === id && each.system === system && each.metric === metric);
  for (const probe of after.probes)
    if (!isIn(before.probes, probe)) say(nameOf(probe.system), `${words(probe)} is new in the configuration`);
  for (const probe of before.probes)
    if (!isIn(after.probes, probe)) say(nameOf(probe.system), `${words(probe)} is no longer in the configuration`);
  return changes;
}

type Stock = Config['systems'][number]['stocks'][number];

function stockWords(
  old: Stock | undefined,
  { name, grams_per_litre, raises_100_l_by_per_ml }: Stock,
): string | undefined {
  if (old === undefined) return undefined;
  if (old.grams_per_litre !== grams_per_litre)
    return `${name}: changed from ${old.grams_per_litre ?? 'no'} to ${grams_per_litre ?? 'no'} g/L`;
  if (old.raises_100_l_by_per_ml === raises_100_l_by_per_ml) return undefined;
  return `${name}: 1 mL raises 100 L by ${raises_100_l_by_per_ml ?? 'nothing'}, before that by ${old.raises_100_l_by_per_ml ?? 'nothing'}`;
}

function perDay(plan: SeenConfiguration['systems'][number]['plan'], stock: string): number {
  return plan.filter((each) => each.stock === stock).reduce((sum, { ml_per_day }) => sum + ml_per_day, 0);
}

function bandWords(metric: Metric, band: SeenBand, units: KeepersUnits): string {
  if (band === undefined) return 'none';
  const most = (amount: number | undefined, span: string) =>
    amount === undefined ? [] : [`at most ${amountText(metric, amount, units)} ${span}`];
  return [
    bandText(metric, band, units),
    ...most(band.most_per_hour, 'an hour'),
    ...most(band.most_per_day, 'a day'),
  ].join(', ');
}
