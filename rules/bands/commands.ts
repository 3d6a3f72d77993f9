import { dayMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import type { AlarmRecord } from './alarm-record.ts';
import type { Command } from './evidence.ts';
import { acknowledge, shelve, unshelve } from './life-cycle.ts';
import type { RoomIndex } from './room-index.ts';

/** A forgotten maintenance window ends after a day at the latest. */
export const longestMaintenanceMs = dayMs;

/** Does what a person asked. An unknown alarm or system, or a time that has passed, changes nothing. */
export function stepCommand(room: RoomIndex, command: Command): void {
  const { state, nowMs, events } = room;
  switch (command.do) {
    case 'acknowledge':
    case 'shelve':
    case 'unshelve': {
      const record = findAlarm(room, command.alarm);
      if (record === undefined) return;
      if (command.do === 'acknowledge') acknowledge(record, command.by, nowMs, events);
      else if (command.do === 'shelve') shelve(record, command.untilMs, command, nowMs, events);
      else unshelve(record, command.by, nowMs, events);
      return;
    }
    case 'maintenance': {
      if (!room.rules.systems.has(command.system) || !(command.untilMs > nowMs)) return;
      state.maintenance = state.maintenance.filter((window) => !isSame(window, command));
      state.maintenance.push({
        system: command.system,
        ...defined({ probe: command.probe }),
        untilMs: Math.min(command.untilMs, nowMs + longestMaintenanceMs),
        by: command.by,
      });
      return;
    }
    case 'end_maintenance':
      state.maintenance = state.maintenance.filter((window) => !isSame(window, command));
  }
}

function isSame(a: { system: string; probe?: string }, b: { system: string; probe?: string }): boolean {
  return a.system === b.system && a.probe === b.probe;
}

function findAlarm({ others, state }: RoomIndex, id: string): AlarmRecord | undefined {
  const other = others.get(id);
  if (other !== undefined) return other;
  for (const series of state.series) {
    for (const record of series.alarms) if (record?.id === id) return record;
  }
  return undefined;
}
