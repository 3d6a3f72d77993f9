import { expect, test } from 'vitest';
import { newAlarm } from '#rules/bands/alarm-record.ts';
import { emptyRoomState } from '#rules/bands/room.ts';
import { commonPartOf, isRestless, joinedState, systemPartOf } from '#rules/bands/room-parts.ts';
import { newAnalyte, newSeries, type RoomState } from '#rules/bands/room-state.ts';
import { hourMs, mondayMs } from './script.ts';

// Nothing from outside is at stake: what is joined must be what was parted.

/** The memory of a room is stored in parts: what is lost between them is an alarm that nobody hears of again. */

const alarmOf = (system: string) =>
  newAlarm({ id: `${system}/x`, system, metric: '', rule: 'container_low', priority: 'low' });

function twoSystems(): RoomState {
  return {
    ...emptyRoomState(),
    nowMs: mondayMs,
    listeningSinceMs: mondayMs - hourMs,
    startedMs: mondayMs - 9 * hourMs,
    series: [newSeries('tank', 'ph', 'glass', false, 1), newSeries('sump', 'ph', 'stick', true, 2)],
    alarms: [alarmOf(''), alarmOf('tank'), alarmOf('cellar')],
    analytes: [newAnalyte('tank', 'calcium'), newAnalyte('quarantine', 'calcium')],
    maintenance: [{ system: 'tank', untilMs: 5, by: 'ana' }],
    calibrations: [{ probe: 'glass', timeMs: 6 }],
    refusedReadings: 7,
  };
}

test('a room that is stored in parts is another room when they are joined', () => {
  const state = twoSystems();
  const common = commonPartOf(state);
  expect(common.systems.sort()).toEqual(['cellar', 'quarantine', 'sump', 'tank']);
  expect(common.alarms.map(({ system }) => system)).toEqual(['']);
  expect(common).not.toHaveProperty('series');
  expect(common).not.toHaveProperty('analytes');
  const tank = systemPartOf(state, 'tank');
  expect(tank.nowMs).toBe(mondayMs);
  expect(tank.series).toEqual([state.series[0]]);
  expect(tank.alarms).toEqual([state.alarms[1]]);
  expect(tank.analytes).toEqual([state.analytes[0]]);
  const joined = joinedState(
    common,
    ['tank', 'sump', 'cellar', 'quarantine'].map((system) => systemPartOf(state, system)),
  );
  expect(joined).toEqual(state);
  expect(joined).not.toHaveProperty('systems');
});

test('parts of different age count a silence from before the newest, or parts of one age forget theirs', () => {
  const state = twoSystems();
  const common = commonPartOf(state);
  const part = (system: string, nowMs: number | null) => ({ ...systemPartOf(state, system), nowMs });
  const since = (...parts: ReturnType<typeof part>[]) => joinedState(common, parts).listeningSinceMs;
  expect(since(part('tank', mondayMs), part('sump', mondayMs))).toBe(mondayMs - hourMs);
  expect(since(part('tank', mondayMs), part('sump', mondayMs - 1))).toBe(mondayMs);
  expect(since(part('tank', mondayMs + 9), part('sump', mondayMs))).toBe(mondayMs + 9);
  expect(since(part('tank', null))).toBe(mondayMs);
  expect(since()).toBe(mondayMs - hourMs);
  expect(joinedState({ ...common, nowMs: null }, [part('tank', null)]).listeningSinceMs).toBe(mondayMs - hourMs);
  expect(joinedState({ ...common, nowMs: null }, [part('tank', 3)]).listeningSinceMs).toBe(3);
});

test('a part that is about to tell something is stored late, or one at rest is stored at each step', () => {
  const quiet = { isLatched: false, isTold: false, abnormalSinceMs: null, normalSinceMs: null };
  const standing = { ...quiet, isLatched: true, isTold: true, abnormalSinceMs: 1 };
  const cases: [Partial<ReturnType<typeof alarmOf>>, boolean][] = [
    [quiet, false],
    [standing, false],
    [{ ...quiet, abnormalSinceMs: 1 }, true],
    [{ ...standing, normalSinceMs: 1 }, true],
    [{ ...standing, isTold: false }, true],
    [{ ...quiet, isTold: true }, true],
  ];
  for (const [record, isMoving] of cases) {
    const part = systemPartOf({ ...emptyRoomState(), alarms: [{ ...alarmOf('tank'), ...record }] }, 'tank');
    expect(isRestless(part)).toBe(isMoving);
    const series = newSeries('tank', 'ph', 'glass', false, 1);
    expect(isRestless(systemPartOf({ ...emptyRoomState(), series: [series] }, 'tank'))).toBe(false);
    series.alarms[3] = { ...alarmOf('tank'), ...record };
    expect(isRestless(systemPartOf({ ...emptyRoomState(), series: [series] }, 'tank'))).toBe(isMoving);
    // One at rest beside it changes nothing.
    const both = [series, newSeries('tank', 'salinity', 'cell', false, 1)];
    expect(isRestless(systemPartOf({ ...emptyRoomState(), series: both }, 'tank'))).toBe(isMoving);
  }
});
