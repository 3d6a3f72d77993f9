import { describe, expect, test } from 'vitest';
import { longestMaintenanceMs, stepCommand } from '#rules/bands/commands.ts';
import type { Command } from '#rules/bands/evidence.ts';
import { observe, openGate, settle } from '#rules/bands/life-cycle.ts';
import { emptyRoomState, rulesForRoom } from '#rules/bands/room.ts';
import { indexOf, otherAlarm } from '#rules/bands/room-index.ts';
import { dayMs, hourMs, minuteMs, mondayMs, run, transitions } from './script.ts';

// The states of an alarm and how long each may stand: IEC 62682 and ISA-18.2 (from memory); the limits of days and hours are common
// practice, no published source.

describe('a command', () => {
  const rules = rulesForRoom({
    systems: [
      { id: 'tank', name: 'Tank', volumeL: 400, bands: {}, probes: [] },
      { id: 'sump', name: 'Sump', volumeL: 100, bands: {}, probes: [] },
    ],
    overrides: [],
  });
  function given(...commands: Command[]) {
    const state = emptyRoomState();
    const index = indexOf(rules, state, mondayMs);
    const { events } = index;
    const subject = { id: 'tank/room/x', system: 'tank', metric: '' as const, rule: 'edge_fault' as const };
    const record = otherAlarm(index, { ...subject, priority: 'low' });
    observe(record, { onDelayMs: 0, offDelayMs: 0, gapToleranceMs: 0 }, 'abnormal', mondayMs);
    settle(record, {}, openGate, mondayMs, events);
    for (const command of commands) stepCommand(index, command);
    return { state, told: events.map((event) => event.state), record };
  }
  const maintenance = (system: string, minutes: number, probe?: string): Command => ({
    ...{ do: 'maintenance', system, untilMs: mondayMs + minutes * minuteMs, by: 'ana' },
    ...(probe === undefined ? {} : { probe }),
  });
  const end = (system: string, probe?: string): Command => ({
    ...{ do: 'end_maintenance', system, by: 'ana' },
    ...(probe === undefined ? {} : { probe }),
  });

  test('does something else to an alarm, or does it to another', () => {
    const alarm = 'tank/room/x';
    const untilMs = mondayMs + hourMs;
    expect(given({ do: 'acknowledge', alarm, by: 'ana' }).told).toEqual(['raised', 'acknowledged']);
    expect(given({ do: 'shelve', alarm, untilMs, by: 'ana' }).told).toEqual(['raised', 'shelved']);
    const both: Command[] = [
      { do: 'shelve', alarm, untilMs, by: 'ana' },
      { do: 'unshelve', alarm, by: 'ana' },
    ];
    expect(given(...both).told).toEqual(['raised', 'shelved', 'unshelved', 'reraised']);
    expect(given({ do: 'acknowledge', alarm: 'tank/room/y', by: 'ana' }).told).toEqual(['raised']);
  });

  test('about one alarm of a stream is done to the first of that stream', () => {
    const warm = '25.5 25.6 '.repeat(5);
    const ran = run({
      bands: { temperature: { low: 25, high: 26.5, mostPerHour: 50 }, ph: { low: 7.8, high: 8.4, mostPerHour: 50 } },
      series: { temperature: `${warm}${'27 27.1 '.repeat(5)}${'24 24.1 '.repeat(5)}`, ph: '7.5 7.51 '.repeat(15) },
      at: { 29: { do: 'acknowledge', alarm: 'tank/temperature/out_of_band/low', by: 'ana' } },
    });
    expect(transitions(ran)).toContain('25 raised temperature/out_of_band/low');
    expect(transitions(ran).at(-1)).toBe('29 acknowledged temperature/out_of_band/low');
    const low = run({
      bands: { ph: { low: 7.8, high: 8.4, mostPerHour: 50 } },
      series: { ph: '7.5 7.51 '.repeat(15) },
      at: { 20: { do: 'acknowledge', alarm: 'tank/ph/out_of_band/low', by: 'ana' } },
    });
    expect(transitions(low).at(-1)).toBe('20 acknowledged ph/out_of_band/low');
  });

  test('for maintenance lasts for more than a day, holds for a system that is not there, or one that has passed', () => {
    expect(given(maintenance('tank', 30)).state.maintenance).toStrictEqual([
      { system: 'tank', untilMs: mondayMs + 30 * minuteMs, by: 'ana' },
    ]);
    expect(given(maintenance('tank', 5000)).state.maintenance[0]!.untilMs).toBe(mondayMs + longestMaintenanceMs);
    expect(longestMaintenanceMs).toBe(dayMs);
    expect(given(maintenance('none', 30)).state.maintenance).toEqual([]);
    expect(given(maintenance('tank', 0)).state.maintenance).toEqual([]);
    expect(given(maintenance('tank', Number.NaN)).state.maintenance).toEqual([]);
  });

  test('for maintenance takes the place of another, or ends another', () => {
    const windows = (...commands: Command[]) =>
      given(...commands).state.maintenance.map(
        ({ system, probe, untilMs }) => `${system} ${probe ?? 'all'} ${(untilMs - mondayMs) / minuteMs}`,
      );
    const all = [maintenance('tank', 10), maintenance('tank', 20, 'cell'), maintenance('sump', 30)];
    expect(windows(...all)).toEqual(['tank all 10', 'tank cell 20', 'sump all 30']);
    expect(windows(...all, maintenance('tank', 40, 'cell'))).toEqual(['tank all 10', 'sump all 30', 'tank cell 40']);
    expect(windows(...all, end('tank'))).toEqual(['tank cell 20', 'sump all 30']);
    expect(windows(...all, end('tank', 'cell'))).toEqual(['tank all 10', 'sump all 30']);
    expect(windows(...all, end('tank', 'glass'))).toHaveLength(3);
  });
});
