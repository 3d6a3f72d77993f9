import type { Metric } from '../quantity/metric.ts';
import type { AlarmRecord } from './alarm-record.ts';
import { gateOf } from './causes.ts';
import type { Judged, OtherAlarm } from './kinds/kind.ts';
import { kindOf, type OtherName, otherAlarms } from './kinds/list.ts';
import { forgetComings, observe, settle } from './life-cycle.ts';
import { otherAlarm, type RoomIndex } from './room-index.ts';
import { planOf } from './room-rules.ts';
import type { RuleSettings } from './rule-settings.ts';

type About = { system: string; metric: Metric | '' };

function idOf({ system, metric }: About, rule: string, alarm: OtherAlarm, idEnd = ''): string {
  return `${system}/${metric === '' ? 'room' : metric}/${rule}${alarm.idEnd ?? ''}${idEnd}`;
}

/** Moves an alarm that belongs to no stream, keeps its text true, and tells what changed. */
export function feedRoomAlarm(
  room: RoomIndex,
  name: OtherName,
  settings: RuleSettings,
  about: About,
  judged: Judged,
): void {
  const id = idOf(about, settings.rule, otherAlarms[name].alarm, judged.idEnd);
  if (judged.condition !== 'abnormal' && !room.others.has(id)) return;
  const record = otherAlarm(room, { ...about, id, rule: settings.rule, priority: settings.priority });
  const hasChanged = observe(record, settings, judged.condition, room.nowMs);
  // Somebody has just made it and looks at it: each one is told.
  if (otherAlarms[name].alarm.judge.each === 'test') forgetComings(record);
  if (!hasChanged) {
    // It stands on: its text carries what is known now, and nobody is told again.
    if (record.isLatched && judged.condition !== 'normal') {
      record.value = judged.value ?? null;
      record.message = judged.raised();
    }
    return;
  }
  record.priority = settings.priority;
  record.value = judged.value ?? null;
  record.message = record.isLatched ? judged.raised() : judged.cleared();
  settle(record, settings, gateOf(room, record), room.nowMs, room.events);
}

/** The settings under which an alarm outside the streams was raised; undefined when its rule is switched off. */
export function settingsOf(room: RoomIndex, record: AlarmRecord): RuleSettings | undefined {
  const { system, metric, rule } = record;
  const kind = kindOf(rule);
  if (kind === undefined) return undefined;
  const plan = metric === '' ? room.rules.ofSystems.get(system) : planOf(room.rules, system, metric)?.other;
  const own = Object.entries(kind.elsewhere) as [OtherName, OtherAlarm][];
  // Where a kind has several alarms, none of them has more to its id than the kind says.
  const [name] = own.find(([, alarm]) => own.length === 1 || idOf(record, rule, alarm) === record.id) ?? [];
  return name === undefined ? undefined : plan?.[name];
}
