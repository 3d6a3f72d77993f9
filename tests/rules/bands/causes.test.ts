import { describe, expect, test } from 'vitest';
import { newAlarm } from '#rules/bands/alarm-record.ts';
import { gateOf } from '#rules/bands/causes.ts';
import { type SlotName, slots } from '#rules/bands/kinds/list.ts';
import { noteEdges } from '#rules/bands/room-index.ts';
import type { Maintenance } from '#rules/bands/room-state.ts';
import { minuteMs, mondayMs } from './script.ts';
import { gate, standingRoom } from './standing-room.ts';

/** What hides what: what may never be hidden is as much a rule as what must be. Common practice, no published source. */

const bands = {
  temperature: { low: 25, high: 26.5 },
  ph: { low: 7.8, high: 8.4, mostPerDay: 0.3 },
  salinity: { low: 34, high: 36 },
  conductivity: { low: 51, high: 54 },
};
const slotNames = Object.keys(slots) as SlotName[];

describe('on one stream', () => {
  // The plain hides the subtle; nothing hides water out of its band or a probe that is silent.
  const hides: Partial<Record<SlotName, SlotName[]>> = {
    rate: ['above', 'below', 'impossible', 'flat'],
    swing: ['above', 'below', 'rate', 'impossible', 'flat'],
    departure: ['above', 'below', 'rate', 'swing', 'impossible', 'flat'],
    drift: ['above', 'below', 'rate', 'swing', 'departure', 'impossible', 'flat'],
    impossible: ['flat'],
    flat: ['silent'],
    failing: ['impossible', 'flat', 'silent'],
    disagree: ['above', 'below', 'rate', 'flat', 'impossible'],
  };

  test.each(slotNames)('%s is hidden by an alarm about something else, or told beside the plain one', (slot) => {
    for (const other of slotNames) {
      const room = standingRoom(bands);
      const stream = room.stream('ph');
      expect(gate(room, stream, slot)).toBe('open');
      room.stands(stream, other);
      expect(`${other}: ${gate(room, stream, slot)}`).toBe(
        `${other}: ${hides[slot]?.includes(other) === true ? 'weak same stream' : 'open'}`,
      );
    }
  });

  // As far back as the window of the rule looks.
  test.each<[SlotName, SlotName, number]>([
    ['rate', 'above', 60],
    ['swing', 'above', 25 * 60],
    ['departure', 'above', 6 * 60],
    ['drift', 'above', 24 * 60],
    ['impossible', 'flat', 30],
    ['flat', 'silent', 0],
    ['disagree', 'above', 30],
  ])('%s is told within the time after %s, or hidden beyond it', (slot, other, minutes) => {
    const gateAfter = (agoMs: number) => {
      const room = standingRoom(bands);
      const stream = room.stream('ph');
      room.ended(stream, other, agoMs);
      return gate(room, stream, slot);
    };
    if (minutes > 0) {
      expect(gateAfter(0)).toBe('weak same stream');
      expect(gateAfter(minutes * minuteMs - 1)).toBe('weak same stream');
    }
    expect(gateAfter(minutes * minuteMs)).toBe('open');
    // Ended by a clock that has since stepped back.
    expect(gateAfter(-minuteMs)).toBe('open');
  });
});

describe('maintenance', () => {
  const untilMs = mondayMs + minuteMs;
  test.each<[Partial<Maintenance>, string, string]>([
    [{}, 'strong maintenance', 'strong maintenance'],
    [{ probe: 'glass' }, 'strong maintenance', 'open'],
    [{ probe: 'cell' }, 'open', 'open'],
    [{ system: 'sump' }, 'open', 'open'],
    [{ untilMs: mondayMs }, 'open', 'open'],
  ])('%j hides too much or too little', (window, ofStream, ofRoom) => {
    const room = standingRoom(bands);
    room.state.maintenance.push({ system: 'tank', untilMs, by: 'ana', ...window });
    expect(gate(room, room.stream('ph', 'glass'), 'above')).toBe(ofStream);
    const subject = { id: 'tank/alkalinity/test', system: 'tank', metric: 'alkalinity' as const };
    const record = newAlarm({ ...subject, rule: 'out_of_band', priority: 'high' });
    const found = gateOf(room.index, record);
    expect(found.is === 'open' ? 'open' : `${found.is} ${found.cause}`).toBe(ofRoom);
  });

  test('of another system ends that of the first one in the list', () => {
    const room = standingRoom(bands);
    room.state.maintenance.push({ system: 'sump', untilMs, by: 'ana' }, { system: 'tank', untilMs, by: 'ana' });
    expect(gate(room, room.stream('ph'), 'above')).toBe('strong maintenance');
  });
});

describe('an edge', () => {
  /** A stream that speaks each minute, last heard so many minutes ago, behind an edge that came up so many minutes ago. */
  function behind(given: { isUp: boolean; upAgo?: number; heardAgo?: number; latchedAgo?: number; probes?: string[] }) {
    const room = standingRoom(bands, [{ id: 'glass', metric: 'ph', everyMs: minuteMs }]);
    const stream = room.stream('ph', 'glass');
    stream.series.heardMs = mondayMs - (given.heardAgo ?? 60) * minuteMs;
    room.state.edges.push({
      ...{ name: 'serial:left', isUp: given.isUp, detail: '' },
      ...{ changedMs: mondayMs - (given.upAgo ?? 0) * minuteMs, probes: given.probes ?? ['glass'] },
    });
    noteEdges(room.index);
    room.stands(stream, 'silent');
    if (given.latchedAgo !== undefined) {
      stream.series.alarms[slots.silent]!.latchings.push(mondayMs - given.latchedAgo * minuteMs);
    }
    return { room, stream, silent: gate(room, stream, 'silent') };
  }

  test('that is down lets the silence behind it be told, or hides another probe or alarm', () => {
    const down = behind({ isUp: false });
    expect(down.silent).toBe('strong edge');
    expect(gate(down.room, down.stream, 'above')).toBe('open');
    expect(behind({ isUp: false, probes: ['cell'] }).silent).toBe('open');
  });

  test('that came back gives a probe no time to speak, or more than its time', () => {
    // Five of its intervals.
    expect(behind({ isUp: true, upAgo: 5 }).silent).toBe('strong edge');
    expect(behind({ isUp: true, upAgo: 5.01 }).silent).toBe('open');
  });

  test('whose silence is over rings while it waits for its off-delay, or hides a new silence', () => {
    expect(behind({ isUp: true, upAgo: 8, latchedAgo: 20, heardAgo: 8 }).silent).toBe('strong edge');
    expect(behind({ isUp: true, upAgo: 8, latchedAgo: 8, heardAgo: 0 }).silent).toBe('strong edge');
    expect(behind({ isUp: true, upAgo: 8, latchedAgo: 7.9, heardAgo: 7.95 }).silent).toBe('open');
    expect(behind({ isUp: true, upAgo: 8, latchedAgo: 20, heardAgo: 8.1 }).silent).toBe('open');
    expect(behind({ isUp: true, upAgo: 8, heardAgo: 0 }).silent).toBe('open');
  });

  test('gives time to what nobody expects to speak', () => {
    const room = standingRoom(bands);
    const stream = room.stream('alkalinity');
    room.state.edges.push({ name: 'mqtt', isUp: true, detail: '', changedMs: mondayMs, probes: ['alkalinity'] });
    noteEdges(room.index);
    expect(gate(room, stream, 'silent')).toBe('strong edge');
    room.state.edges[0]!.changedMs = mondayMs - 1;
    noteEdges(room.index);
    expect(gate(room, stream, 'silent')).toBe('open');
  });
});

describe('what is computed from a probe', () => {
  const derived = [
    { id: 'thermometer', metric: 'temperature' as const },
    { id: 'cell', metric: 'conductivity' as const },
    { id: 'cell', metric: 'salinity' as const, derivedFrom: ['cell', 'thermometer'] },
  ];

  test.each(['silent', 'flat', 'impossible'] as const)('is told as well when the probe is %s', (fault) => {
    const room = standingRoom(bands, derived);
    const salinity = room.stream('salinity', 'cell');
    room.stands(room.stream('conductivity', 'cell'), fault);
    expect(gate(room, salinity, 'below')).toBe('strong cell');
    const warm = standingRoom(bands, derived);
    const other = warm.stream('salinity', 'cell');
    warm.stands(warm.stream('temperature', 'thermometer'), fault);
    expect(gate(warm, other, 'below')).toBe('strong thermometer');
    expect(gate(warm, warm.stream('ph'), 'below')).toBe('open');
  });

  test('is hidden by another probe, by water that is wrong, or by itself', () => {
    const room = standingRoom(bands, derived);
    const salinity = room.stream('salinity', 'cell');
    room.stands(room.stream('conductivity', 'spare'), 'silent');
    expect(gate(room, salinity, 'below')).toBe('open');
    room.stands(room.stream('conductivity', 'cell'), 'below');
    expect(gate(room, salinity, 'below')).toBe('open');
    room.stands(salinity, 'flat');
    expect(gate(room, salinity, 'below')).toBe('open');
  });

  test('is hidden for more than half an hour after its probe is well again, or for less', () => {
    const gateAfter = (agoMs: number) => {
      const room = standingRoom(bands, derived);
      const salinity = room.stream('salinity', 'cell');
      room.ended(room.stream('conductivity', 'cell'), 'silent', agoMs);
      return gate(room, salinity, 'below');
    };
    expect(gateAfter(30 * minuteMs - 1)).toBe('strong cell');
    expect(gateAfter(30 * minuteMs)).toBe('open');
  });

  test('is told twice where nobody listed that it is computed, or hides what has nothing to do with it', () => {
    const room = standingRoom(bands);
    for (const metric of ['salinity', 'specific_gravity', 'specific_conductance_25', 'ph', 'temperature'] as const) {
      room.stream(metric);
    }
    room.stands(room.stream('conductivity'), 'silent');
    for (const metric of ['salinity', 'specific_gravity', 'specific_conductance_25'] as const) {
      expect(gate(room, room.stream(metric), 'silent')).toBe('strong conductivity');
    }
    expect(gate(room, room.stream('ph'), 'silent')).toBe('open');
    expect(gate(room, room.stream('temperature'), 'silent')).toBe('open');
    // One of them is no source of another.
    const apart = standingRoom(bands, [
      { id: 'cell', metric: 'salinity', derivedFrom: ['cell'] },
      { id: 'cell', metric: 'specific_gravity', derivedFrom: ['cell'] },
    ]);
    apart.stands(apart.stream('salinity', 'cell'), 'silent');
    expect(gate(apart, apart.stream('specific_gravity', 'cell'), 'silent')).toBe('open');
    // Nor is a thermometer, or the value itself.
    const warm = standingRoom(bands);
    warm.stands(warm.stream('temperature'), 'silent');
    expect(gate(warm, warm.stream('salinity'), 'silent')).toBe('open');
    const own = standingRoom(bands, [{ id: 'glass', metric: 'aragonite_saturation', derivedFrom: ['glass'] }]);
    own.stands(own.stream('aragonite_saturation', 'glass'), 'flat');
    expect(gate(own, own.stream('aragonite_saturation', 'glass'), 'above')).toBe('open');
    // Nor is a probe of another system.
    const sump = standingRoom(bands);
    sump.stands(sump.stream('conductivity', 'conductivity', 'sump'), 'silent');
    expect(gate(sump, sump.stream('salinity'), 'silent')).toBe('open');
  });
});

describe('salt', () => {
  const echoes = ['conductivity', 'specific_conductance_25', 'specific_gravity'] as const;

  test.each(echoes)('is told as %s beside the salinity, or hidden by another alarm of it', (metric) => {
    const room = standingRoom(bands);
    const echo = room.stream(metric);
    room.stands(room.stream('salinity'), 'below');
    expect(gate(room, echo, 'below')).toBe('weak salinity');
    expect(gate(room, echo, 'above')).toBe('open');
    const sour = standingRoom(bands);
    const other = sour.stream(metric);
    sour.stands(sour.stream('ph'), 'below');
    expect(gate(sour, other, 'below')).toBe('open');
    expect(gate(room, room.stream('ph'), 'below')).toBe('open');
    const silent = standingRoom(bands);
    const dead = silent.stream(metric);
    silent.stands(silent.stream('salinity'), 'silent');
    expect(gate(silent, dead, 'silent')).toBe('open');
  });

  test('is told as conductivity just after the salinity, or hidden by it for ever', () => {
    const gateAfter = (agoMs: number) => {
      const room = standingRoom(bands);
      const echo = room.stream('conductivity');
      room.ended(room.stream('salinity'), 'below', agoMs);
      return gate(room, echo, 'below');
    };
    expect(gateAfter(30 * minuteMs - 1)).toBe('weak salinity');
    expect(gateAfter(30 * minuteMs)).toBe('open');
  });
});
