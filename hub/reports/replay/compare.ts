import type { AlarmEvent } from '#rules/bands/alarm-event.ts';

/** From a raise to its end; no end while it stands when the record ends. */
type Episode = { raised: AlarmEvent; cleared: AlarmEvent | undefined };

export type Difference =
  | { change: 'only_old' | 'only_new'; event: AlarmEvent }
  /** The same transition at another time; `event` is the one under the new rules. */
  | { change: 'moved'; event: AlarmEvent; oldTimeMs: number };

/** Two raises so near to each other that do not overlap are still taken for one event that moved. */
const nearMs = 60 * 60_000;

/**
 * What other rules make of the same readings. An alarm of the one is the same as an alarm of the other when both bear the same
 * name and stood at the same time, or nearly so; then only its times can differ.
 *
 * @param oldEvents  oldest first, as is `newEvents`
 * @returns in order of time
 */
export function differences(oldEvents: readonly AlarmEvent[], newEvents: readonly AlarmEvent[]): Difference[] {
  const oldByAlarm = episodesOf(oldEvents);
  const newByAlarm = episodesOf(newEvents);
  const found: Difference[] = [];
  for (const alarm of new Set([...oldByAlarm.keys(), ...newByAlarm.keys()]))
    found.push(...differencesOf(oldByAlarm.get(alarm) ?? [], newByAlarm.get(alarm) ?? []));
  return found.sort((a, b) => timeOf(a) - timeOf(b));
}

function timeOf(difference: Difference): number {
  const { timeMs } = difference.event;
  return difference.change === 'moved' ? Math.min(timeMs, difference.oldTimeMs) : timeMs;
}

/** Both in order of time: each of the one is paired with the nearest of the other that may be the same. */
function differencesOf(olds: readonly Episode[], news: readonly Episode[]): Difference[] {
  const found: Difference[] = [];
  let atOld = 0;
  let atNew = 0;
  for (;;) {
    const old = olds[atOld];
    const fresh = news[atNew];
    if (old === undefined && fresh === undefined) return found;
    if (fresh === undefined || (old !== undefined && isAlone(old, fresh, olds[atOld + 1]))) {
      if (old !== undefined) found.push(...only('only_old', old));
      atOld += 1;
    } else if (old === undefined || isAlone(fresh, old, news[atNew + 1])) {
      found.push(...only('only_new', fresh));
      atNew += 1;
    } else {
      found.push(...moved(old.raised, fresh.raised), ...moved(old.cleared, fresh.cleared));
      atOld += 1;
      atNew += 1;
    }
  }
}

/** It has no partner: the other is another event and comes later, or the one after it is nearer to the other. */
function isAlone(one: Episode, other: Episode, after: Episode | undefined): boolean {
  if (!isSame(one, other)) return one.raised.timeMs <= other.raised.timeMs;
  return after !== undefined && isSame(after, other) && distanceMs(after, other) < distanceMs(one, other);
}

function distanceMs(a: Episode, b: Episode): number {
  return Math.abs(a.raised.timeMs - b.raised.timeMs);
}

function isSame(a: Episode, b: Episode): boolean {
  const end = ({ cleared }: Episode) => cleared?.timeMs ?? Number.POSITIVE_INFINITY;
  return a.raised.timeMs <= end(b) + nearMs && b.raised.timeMs <= end(a) + nearMs;
}

function only(change: 'only_old' | 'only_new', { raised, cleared }: Episode): Difference[] {
  return [{ change, event: raised }, ...(cleared === undefined ? [] : [{ change, event: cleared }])];
}

function moved(old: AlarmEvent | undefined, fresh: AlarmEvent | undefined): Difference[] {
  if (old === undefined) return fresh === undefined ? [] : [{ change: 'only_new', event: fresh }];
  if (fresh === undefined) return [{ change: 'only_old', event: old }];
  return old.timeMs === fresh.timeMs ? [] : [{ change: 'moved', event: fresh, oldTimeMs: old.timeMs }];
}

function episodesOf(events: readonly AlarmEvent[]): Map<string, Episode[]> {
  const byAlarm = new Map<string, Episode[]>();
  for (const event of events) {
    if (event.state !== 'raised' && event.state !== 'cleared') continue;
    const episodes = byAlarm.get(event.alarm) ?? [];
    byAlarm.set(event.alarm, episodes);
    const last = episodes.at(-1);
    if (event.state === 'raised') episodes.push({ raised: event, cleared: undefined });
    else if (last !== undefined) last.cleared ??= event;
  }
  return byAlarm;
}
