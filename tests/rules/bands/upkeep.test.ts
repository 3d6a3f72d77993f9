import { describe, expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { RoomState } from '#rules/bands/room.ts';
import type { WatchedProbe, WatchedRoom, WatchedSystem } from '#rules/bands/watched-room.ts';
import { minuteMs, mondayMs } from './script.ts';
import { House } from './upkeep-house.ts';

/** What keeps the room going: containers, tests, calibrations, edges. Limits: common practice, no published source. */

const inDays = (days: number) => days * 24 * 60;
const container = (daysLeft: number, system = 'tank'): Evidence => ({
  is: 'container',
  system,
  stock: 'soda',
  daysLeft,
});

describe('a container', () => {
  test('is called low with days to spare, or not when it is', () => {
    const house = new House();
    expect(house.at(0, container(5))).toEqual([]);
    expect(house.state.alarms).toEqual([]);
    expect(house.at(1, container(4.9))).toEqual(['raised tank/room/container_low/soda']);
    expect(house.last).toMatchObject({ metric: '', rule: 'container_low', priority: 'low' });
    expect(house.at(1.5)).toEqual([]);
    expect(house.last).not.toHaveProperty('value');
    expect(house.last.message).toBe(
      'The soda lasts another 5 days at the present use. Make or buy more and refill it.',
    );
    expect(house.at(2, container(6.9))).toEqual([]);
    expect(house.at(3, container(7))).toEqual(['cleared tank/room/container_low/soda']);
    expect(house.last.message).toBe('The soda lasts another 7 days.');
    house.at(4, container(-3));
    expect(house.last.message).toMatch(/^By its own count the container of soda is empty\./);
  });

  test('of a system that is not there, or whose rule is off, is told', () => {
    expect(new House().at(0, container(1, 'none'))).toEqual([]);
    expect(new House({}, [{ rule: 'container_low', enabled: false }]).at(0, container(1))).toEqual([]);
  });
});

describe('an edge', () => {
  const edge = (isUp: boolean, change: Partial<Extract<Evidence, { is: 'edge' }>> = {}): Evidence => {
    return { is: 'edge', name: 'serial:left', isUp, detail: 'no such device', ...change };
  };
  const id = 'room/edges/edge_fault/serial:left';

  test('is told within its minute, or not after it', () => {
    const house = new House();
    house.at(0, edge(false));
    expect(house.at(0.5)).toEqual([]);
    expect(house.at(1.4)).toEqual([]);
    expect(house.at(1.5)).toEqual([`raised ${id}`]);
    expect(house.last).toMatchObject({ system: '', metric: '', rule: 'edge_fault', priority: 'medium' });
    expect(house.last.message).toBe(
      'Probe board left has been down for 2 min: no such device. Check its power, its cable and the network.',
    );
    house.at(2, edge(true));
    expect(house.at(2.5)).toEqual([]);
    expect(house.at(3.4)).toEqual([]);
    expect(house.at(3.5)).toEqual([`cleared ${id}`]);
    expect(house.last.message).toBe('Probe board left is up again.');
  });

  test("whose plug was pulled is told in the system's words for it", () => {
    const house = new House();
    house.at(0, edge(false, { detail: 'unplugged (bad file descriptor)', probes: ['a', 'b'] }));
    house.at(0.5);
    house.at(1.5);
    expect(house.last.message).toBe(
      'Probe board left unplugged for 2 min. 2 probes silent. Check its plug, its cable and its power.',
    );
  });

  test('that was never down makes an alarm of its own', () => {
    const house = new House();
    house.at(0, edge(true));
    house.at(5);
    expect(house.state.alarms).toEqual([]);
  });

  test('is told of the moment before it changed last, or changes when it says the same again', () => {
    const house = new House();
    house.at(0, edge(true, { detail: 'open', probes: ['a'] }));
    expect(house.state.edges).toEqual([
      { name: 'serial:left', isUp: true, detail: 'open', probes: ['a'], changedMs: mondayMs },
    ]);
    house.at(3, edge(true));
    expect(house.state.edges[0]).toMatchObject({ changedMs: mondayMs, detail: 'no such device', probes: [] });
    house.at(4, edge(false, { probes: ['b', 'c'] }));
    expect(house.state.edges[0]).toMatchObject({ isUp: false, changedMs: mondayMs + 4 * minuteMs });
    house.at(4.5);
    house.at(5, edge(false, { name: 'mqtt' }));
    expect(house.state.edges).toHaveLength(2);
    house.at(5.5);
    expect(house.events.find(({ alarm }) => alarm === id)?.message).toBe(
      'Probe board left has been down for 2 min: no such device. 2 probes silent. Check its power, its cable and the network.',
    );
  });

  test('that is a part of the hub sends the keeper to a cable', () => {
    for (const [name, begin] of [
      ['hub', 'The hub itself has had a fault for 2 min: disk full. Look at its log'],
      ['store', 'The store has had a fault for 2 min: disk full. Look at its log'],
    ] as const) {
      const house = new House();
      house.at(0, edge(false, { name, detail: 'disk full...' }));
      house.at(1);
      house.at(2);
      expect(house.last.message.startsWith(begin)).toBe(true);
      expect(house.last.message).toContain('free space of its disk.');
      expect(house.last.message).not.toContain('cable');
    }
    const dotted = new House();
    for (const minute of [0, 1, 2])
      dotted.at(minute, minute === 0 ? edge(false, { detail: 'no 10.0.0.5 there.' }) : undefined);
    expect(dotted.last.message).toContain(': no 10.0.0.5 there. Check');
  });

  test('is raised again each day while nobody mends it, although it was acknowledged', () => {
    const house = new House();
    house.at(0, edge(false));
    house.at(1);
    house.at(2);
    house.at(3, { is: 'command', command: { do: 'acknowledge', alarm: id, by: 'ana' } });
    expect(house.at(inDays(1))).toEqual([]);
    expect(house.at(inDays(1) + 3)).toEqual([`reraised ${id}`]);
  });

  test('fills the memory of the hub with names', () => {
    const house = new House();
    for (let at = 0; at < 1005; at += 1) house.at(0, edge(true, { name: `mqtt:${at}` }));
    expect(house.state.edges).toHaveLength(1000);
    // One that is known still counts.
    house.at(1, edge(false, { name: 'mqtt:999' }));
    expect(house.state.edges.at(-1)).toMatchObject({ name: 'mqtt:999', isUp: false });
  });
});

describe('a test', () => {
  const tested = (minutes: number, value = 8): Evidence => {
    return { is: 'test', system: 'tank', analyte: 'alkalinity', value, timeMs: mondayMs + minutes * minuteMs };
  };
  const due = 'tank/alkalinity/test_overdue';
  const asked = { testEveryDays: { alkalinity: 4 } };

  test('that shall be made and never was is not asked for, or one that nobody asked for is', () => {
    const house = new House(asked);
    house.at(0);
    expect(house.at(inDays(4))).toEqual([]);
    expect(house.at(inDays(4) + 60)).toEqual([`raised ${due}`]);
    expect(house.last.message).toBe('Alkalinity has not been tested; a test is due every 4 days.');
    expect(house.last).toMatchObject({ metric: 'alkalinity', rule: 'test_overdue' });
    const unasked = new House({ bands: { alkalinity: { low: 7, high: 9 } } });
    unasked.at(0);
    expect(unasked.at(inDays(30))).toEqual([]);
  });

  test('is asked for in a system that has only doses, or none where another has an analyser that never works', () => {
    const house = new House(asked);
    const dose: Evidence = { is: 'dose', system: 'tank', analyteRaised: 'alkalinity', raisesBy: 1, timeMs: mondayMs };
    house.at(0, dose);
    expect(house.at(inDays(4) + 60)).toEqual([`raised ${due}`]);
    const bad = new House({ bands: { alkalinity: { low: 7, high: 9 } } }, [], {
      bands: { alkalinity: { low: 7, high: 9 } },
    });
    const series = { system: 'sump', metric: 'alkalinity' as const, probe: 'analyser' };
    const quality = { flag: 'suspect' as const, value: 8, why: 'spike' };
    bad.at(0, { is: 'reading', reading: { series, timeMs: mondayMs, quality } });
    expect(bad.at(inDays(30)).filter((line) => line.includes('overdue'))).toEqual([]);
  });

  test('is due from another day than its last, or stays due when it was made', () => {
    const house = new House({ bands: { alkalinity: { low: 7, high: 9 } } });
    house.at(0, tested(0));
    expect(house.at(inDays(7))).toEqual([]);
    expect(house.at(inDays(7) + 60)).toEqual([`raised ${due}`]);
    expect(house.last.message).toBe('Alkalinity was last tested 7 days ago; a test is due every 7 days.');
    expect(house.at(inDays(7) + 61, tested(inDays(7) + 61))).toEqual([]);
    expect(house.at(inDays(7) + 120)).toEqual([`cleared ${due}`]);
    expect(house.last.message).toBe('Alkalinity was tested.');
  });

  test('is looked for more than once an hour, or not at the next one', () => {
    const house = new House(asked);
    house.at(0);
    house.at(inDays(4));
    expect(house.at(inDays(4) + 1)).toEqual([]);
    expect(house.at(inDays(4) + 59)).toEqual([]);
    expect(house.at(inDays(4) + 60)).toEqual([`raised ${due}`]);
  });

  test('is asked for although an analyser gives the value, or not when it stopped long ago', () => {
    const house = new House(asked);
    const reading = (minutes: number, flag: 'pass' | 'suspect' = 'pass'): Evidence => {
      const series = { system: 'tank', metric: 'alkalinity' as const, probe: 'analyser' };
      return { is: 'reading', reading: { series, timeMs: mondayMs + minutes * minuteMs, quality: { flag, value: 8 } } };
    };
    house.at(0, reading(0));
    house.at(inDays(3), reading(inDays(3)));
    expect(house.at(inDays(5))).toEqual([]);
    expect(house.at(inDays(7) + 60)).toContain(`raised ${due}`);
    // A test after it counts as well, and a reading that nobody believes does not.
    const both = new House(asked);
    both.at(0, reading(0));
    both.at(inDays(3), tested(inDays(3)));
    expect(both.at(inDays(7))).not.toContain(`raised ${due}`);
    both.at(inDays(7) + 1, reading(inDays(7) + 1, 'suspect'));
    expect(both.at(inDays(7) + 60)).toContain(`raised ${due}`);
    const later = new House(asked);
    later.at(0, tested(0));
    later.at(inDays(3), reading(inDays(3)));
    expect(later.at(inDays(7))).not.toContain(`raised ${due}`);
  });
});

describe('a calibration', () => {
  const probes: WatchedProbe[] = [
    { id: 'glass', metric: 'ph' },
    { id: 'cell', metric: 'conductivity' },
    { id: 'cell', metric: 'salinity', derivedFrom: ['cell'] },
    { id: 'float', metric: 'level' },
  ];
  const calibrated = (probe: string, minutes = 0): Evidence => {
    return { is: 'calibration', probe, timeMs: mondayMs + minutes * minuteMs };
  };
  /** Ticks by the hour, without the silences of probes that never speak. */
  const house = () => new House({ probes }, [{ rule: 'silent_probe', enabled: false }]);

  test('is due a day early, for a probe that has none, or for what is computed from the probe', () => {
    const room = house();
    for (const probe of ['glass', 'cell', 'float', 'none']) room.at(0, calibrated(probe));
    expect(room.at(inDays(30))).toEqual([]);
    expect(room.at(inDays(30) + 60)).toEqual(['raised tank/ph/calibration_overdue/glass']);
    expect(room.last.message).toBe(
      'pH: glass was last calibrated 30 days ago; every 30 days is usual. Calibrate it with fresh standards.',
    );
    expect(room.at(inDays(90) + 60)).toEqual(['raised tank/conductivity/calibration_overdue/cell']);
    expect(room.at(inDays(1000))).toEqual([]);
    room.at(inDays(1000) + 1, calibrated('glass', inDays(1000)));
    expect(room.at(inDays(1000) + 60)).toEqual(['cleared tank/ph/calibration_overdue/glass']);
    expect(room.last.message).toBe('pH: glass was calibrated.');
  });

  test('entered late takes the place of a newer one, or a second stands beside the first', () => {
    const room = house();
    room.at(0, calibrated('glass', 100));
    room.at(0, calibrated('glass', 50));
    room.at(0, calibrated('cell', 10));
    expect(room.state.calibrations).toEqual([
      { probe: 'glass', timeMs: mondayMs + 100 * minuteMs },
      { probe: 'cell', timeMs: mondayMs + 10 * minuteMs },
    ]);
    room.at(0, calibrated('cell', 20));
    expect(room.state.calibrations[1]!.timeMs).toBe(mondayMs + 20 * minuteMs);
  });

  test('of more probes than a room can have fills the memory', () => {
    const room = house();
    room.state.calibrations = Array.from({ length: 20_000 }, (_, at) => ({ probe: `p${at}`, timeMs: 0 }));
    room.at(0, calibrated('one more'));
    expect(room.state.calibrations).toHaveLength(20_000);
    room.at(0, calibrated('p19999', 5));
    expect(room.state.calibrations.at(-1)!.timeMs).toBe(mondayMs + 5 * minuteMs);
  });
});

test.each<[string, Partial<WatchedSystem>, (house: House) => void]>([
  ['container_low', {}, (house) => house.at(inDays(40), container(1))],
  ['test_overdue', { testEveryDays: { alkalinity: 4 } }, (house) => house.at(inDays(40))],
  [
    'calibration_overdue',
    { probes: [{ id: 'glass', metric: 'ph' }] },
    (house) => {
      house.at(0, { is: 'calibration', probe: 'glass', timeMs: mondayMs });
      house.at(inDays(40));
    },
  ],
])('an alarm by %s ends while it holds, or stands on when its system was taken away', (rule, system, raise) => {
  const silent: WatchedRoom['overrides'] = [{ rule: 'silent_probe', enabled: false }];
  const house = new House(system, silent);
  house.at(0);
  raise(house);
  expect(house.events.map((event) => `${event.state} ${event.rule}`)).toEqual([`raised ${rule}`]);
  expect(house.at(inDays(40) + 1)).toEqual([]);
  const without = new House({ id: 'other' }, silent);
  without.state = JSON.parse(JSON.stringify(house.state)) as RoomState;
  without.at(inDays(40) + 2);
  expect(without.events).toMatchObject([{ state: 'cleared', rule, message: 'This rule was switched off.' }]);
});

test('a container that is low is forgotten once it was acknowledged', () => {
  const house = new House();
  house.at(0, container(4));
  house.at(1, { is: 'command', command: { do: 'acknowledge', alarm: 'tank/room/container_low/soda', by: 'ana' } });
  expect(house.at(inDays(7))).toEqual([]);
  expect(house.at(inDays(7) + 2)).toEqual(['reraised tank/room/container_low/soda']);
});

test('a rule that was switched off leaves its alarm standing for ever', () => {
  const house = new House();
  house.at(0, container(1));
  const off = new House({}, [{ rule: 'container_low', enabled: false }]);
  off.state = JSON.parse(JSON.stringify(house.state)) as RoomState;
  expect(off.at(1)).toEqual(['cleared tank/room/container_low/soda']);
  expect(off.last.message).toBe('This rule was switched off.');
  expect(off.listed(2)).toMatchObject([{ state: 'returned_unacknowledged', isStanding: false }]);
});
