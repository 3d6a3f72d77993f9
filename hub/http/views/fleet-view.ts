import type { Clock } from '#adapters/ports/edge.ts';
import type { KeepersUnits, Priority } from '#rules/bands/watched-room.ts';
import { metricFacts, metrics } from '#rules/quantity/metric.ts';
import { hubStates } from '#rules/verdicts/hub-state.ts';
import type { ValueState } from '#rules/verdicts/value-state.ts';
import type { FleetAlarm, FleetMetric, HubDetail, HubTile } from '../../api/fleet.ts';
import { shownUnit } from '../../model/settings/shown-unit.ts';
import type { HubRecord } from '../../outside/fleet/fleet-state.ts';
import type { HubAlarm } from '../../outside/fleet/hub-messages.ts';
import { type HubVerdict, type JudgedReading, judgeHub } from '../../outside/fleet/hub-verdict.ts';

/** Hall 2 before hall 10. Made once: each comparison would else make one. */
const byName = new Intl.Collator('en', { numeric: true });

/** A tile draws so many values; the worst of more. */
const mostMarks = 60;

export type ViewParts = { clock: Clock; silentAfterMs: number; units: KeepersUnits; self: string };

type Judged = { record: HubRecord; verdict: HubVerdict };

/** All hubs, the worst first; alike ones by name. */
export function fleetTiles(records: readonly HubRecord[], parts: ViewParts): HubTile[] {
  return records
    .map((record) => tileOf({ record, verdict: judgeHub(record, parts.clock, parts.silentAfterMs) }, parts.self))
    .toSorted(worstFirst);
}

export function hubDetail(record: HubRecord, parts: ViewParts): HubDetail {
  const verdict = judgeHub(record, parts.clock, parts.silentAfterMs);
  const alarms = verdict.alarms.map(alarmOf);
  const systems = systemsOf({ record, verdict });
  return {
    ...tileOf({ record, verdict }, parts.self),
    timezone: record.about?.timezone ?? null,
    week: record.week ?? null,
    details: systems.map(({ id, name, readings }) => ({
      id,
      name,
      metrics: readings.map((reading) => metricOf(reading, parts.units)),
      alarms: verdict.alarms.filter(({ system }) => system === id).map(alarmOf),
    })),
    ownAlarms: alarms.filter((_, index) => !systems.some(({ id }) => id === verdict.alarms[index]?.system)),
  };
}

const priorityRank: Record<Priority, number> = { high: 0, medium: 1, low: 2 };

function worstFirst(a: HubTile, b: HubTile): number {
  return (
    hubStates.indexOf(a.state) - hubStates.indexOf(b.state) ||
    priorityRank[a.priority ?? 'low'] - priorityRank[b.priority ?? 'low'] ||
    alarmsOf(b) - alarmsOf(a) ||
    byName.compare(a.name, b.name)
  );
}

function alarmsOf({ alarms }: HubTile): number {
  return alarms.high + alarms.medium + alarms.low;
}

function tileOf({ record, verdict }: Judged, self: string): HubTile {
  const count = (priority: Priority) => verdict.alarms.filter((alarm) => alarm.priority === priority).length;
  const [first] = verdict.alarms;
  const systems = systemsOf({ record, verdict });
  const values: HubTile['values'] = { inside: 0, outside: 0, stale: 0, doubtful: 0, unbanded: 0 };
  for (const { state } of verdict.readings) values[state] += 1;
  return {
    hub: record.hub,
    name: record.about?.site ?? record.hub.split('/').at(-1) ?? record.hub,
    state: verdict.state,
    priority: verdict.priority,
    lastHeardMs: verdict.lastHeardMs,
    alarms: { high: count('high'), medium: count('medium'), low: count('low') },
    acknowledged: verdict.alarms.filter(({ state }) => state === 'acknowledged').length,
    first: first === undefined ? null : { system: first.system_name, message: first.message },
    systems: systems.length,
    values,
    marks: marksOf(systems),
    isSelf: record.hub === self,
  };
}

/** Those it says it has, and those that only its readings name. */
function systemsOf({ record, verdict }: Judged): { id: string; name: string; readings: JudgedReading[] }[] {
  const bySystem = new Map<string, JudgedReading[]>((record.about?.systems ?? []).map(({ id }) => [id, []]));
  for (const reading of verdict.readings) {
    const own = bySystem.get(reading.system);
    if (own === undefined) bySystem.set(reading.system, [reading]);
    else own.push(reading);
  }
  const names = new Map(record.about?.systems.map(({ id, name }) => [id, name]));
  const order = ({ metric }: JudgedReading) => metrics.indexOf(metric);
  return [...bySystem]
    .map(([id, readings]) => ({
      id,
      name: names.get(id) ?? id,
      readings: readings.toSorted((a, b) => order(a) - order(b) || (a.probe < b.probe ? -1 : 1)),
    }))
    .toSorted((a, b) => byName.compare(a.name, b.name));
}

const markRank: Record<ValueState, number> = { outside: 0, stale: 1, doubtful: 2, inside: 3, unbanded: 4 };

function marksOf(systems: readonly { readings: readonly JudgedReading[] }[]): HubTile['marks'] {
  const total = systems.reduce((sum, { readings }) => sum + readings.length, 0);
  const isWanted = new Set(
    total <= mostMarks
      ? []
      : systems
          .flatMap(({ readings }) => readings)
          .toSorted((a, b) => markRank[a.state] - markRank[b.state])
          .slice(0, mostMarks),
  );
  return systems
    .map(({ readings }) => readings.filter((reading) => total <= mostMarks || isWanted.has(reading)).map(markOf))
    .filter((marks) => marks.length > 0);
}

function markOf({ value, band, state }: JudgedReading): HubTile['marks'][number][number] {
  if (value === undefined || band === null || !(band.high > band.low)) return { at: null, state };
  const at = (value - band.low) / (band.high - band.low);
  return { at: Math.round(Math.min(1.5, Math.max(-0.5, at)) * 1000) / 1000, state };
}

function metricOf(reading: JudgedReading, units: KeepersUnits): FleetMetric {
  const { metric, probe, value, flag, timeMs, band, state } = reading;
  return {
    metric,
    ...metricFacts[metric],
    shown: shownUnit(metric, units),
    probe,
    value: value ?? null,
    flag,
    time: timeMs,
    band,
    state,
  };
}

function alarmOf({ alarm, state, priority, message, metric, time, system_name }: HubAlarm): FleetAlarm {
  return { alarm, state, priority, message, metric, time, systemName: system_name };
}
