import { describe, expect, test } from 'vitest';
import type { SlotName } from '#rules/bands/kinds/list.ts';
import type { Stream } from '#rules/bands/room-index.ts';
import { gate, standingRoom } from './standing-room.ts';

const bands = {
  temperature: { low: 25, high: 26.5 },
  ph: { low: 7.8, high: 8.4, mostPerDay: 0.3 },
  salinity: { low: 34, high: 36 },
  conductivity: { low: 51, high: 54 },
};

describe('a temperature that is off', () => {
  /** 30 °C in a band of 25 to 26.5: 4.25 from its middle. pH of sea water falls about 0.015 a °C (from memory), so 0.085 is explained. */
  function warm(slot: SlotName = 'above') {
    const room = standingRoom(bands);
    const temperature = room.stream('temperature');
    const ph = room.stream('ph');
    temperature.series.goodValue = 30;
    room.stands(temperature, slot);
    return { room, temperature, ph };
  }

  test.each<[SlotName, (ph: Stream, size: number) => void]>([
    [
      'above',
      ({ series }, size) => {
        series.goodValue = 8.4 + size;
      },
    ],
    [
      'below',
      ({ series }, size) => {
        series.goodValue = 7.8 - size;
      },
    ],
    [
      'rate',
      ({ series }, size) => {
        series.figures.moveInHour = size;
      },
    ],
    [
      'rate',
      ({ series }, size) => {
        series.figures.moveInHour = -size;
      },
    ],
    [
      'swing',
      ({ series }, size) => {
        series.figures.swing = 0.3 + size;
      },
    ],
    [
      'departure',
      ({ series }, size) => {
        series.figures.distanceFromUsual = size;
      },
    ],
    [
      'departure',
      ({ series }, size) => {
        series.figures.distanceFromUsual = -size;
      },
    ],
  ])('lets the %s of pH be told that its physics explains, or hides a larger one', (slot, set) => {
    for (const cause of ['above', 'below', 'rate'] as const) {
      const { room, ph } = warm(cause);
      set(ph, 0.08);
      expect(gate(room, ph, slot)).toBe('strong temperature');
      set(ph, 0.09);
      expect(gate(room, ph, slot)).toBe('open');
    }
  });

  test.each(['drift', 'silent', 'flat', 'impossible', 'disagree'] as const)('hides the %s of a pH probe', (slot) => {
    const { room, ph } = warm();
    ph.series.goodValue = 8.1;
    expect(gate(room, ph, slot)).toBe('open');
  });

  test('hides without an alarm of its own, without a band or a value, or what heat does not move', () => {
    const { room, temperature, ph } = warm();
    ph.series.goodValue = 8.41;
    expect(gate(room, ph, 'above')).toBe('strong temperature');
    const level = room.stream('level');
    level.series.figures.moveInHour = 0.0001;
    expect(gate(room, level, 'rate')).toBe('open');
    expect(gate(room, temperature, 'departure')).toBe('weak same stream');
    temperature.series.goodValue = null;
    expect(gate(room, ph, 'above')).toBe('open');
    ph.series.goodValue = null;
    temperature.series.goodValue = 30;
    expect(gate(room, ph, 'above')).toBe('open');
    expect(gate(room, ph, 'below')).toBe('open');
    const calm = warm('departure');
    calm.ph.series.goodValue = 8.41;
    expect(gate(calm.room, calm.ph, 'above')).toBe('open');
    const bare = standingRoom({ ph: bands.ph });
    const glass = bare.stream('ph');
    glass.series.goodValue = 8.41;
    bare.stream('temperature').series.goodValue = 30;
    bare.stands(bare.stream('temperature'), 'above');
    expect(gate(bare, glass, 'above')).toBe('open');
    const noBand = standingRoom({ temperature: bands.temperature });
    const free = noBand.stream('ph');
    free.series.goodValue = 8.41;
    noBand.stream('temperature').series.goodValue = 30;
    noBand.stands(noBand.stream('temperature'), 'above');
    for (const slot of ['above', 'below', 'swing'] as const) {
      free.series.figures.swing = slot === 'swing' ? 1 : 0;
      expect(gate(noBand, free, slot)).toBe('open');
    }
  });

  test('in the middle of its band, but that moved fast, explains nothing', () => {
    for (const move of [3, -3]) {
      const { room, temperature, ph } = warm('rate');
      temperature.series.goodValue = 25.75;
      temperature.series.figures.moveInHour = move;
      ph.series.figures.moveInHour = 0.06;
      expect(gate(room, ph, 'rate')).toBe('strong temperature');
      ph.series.figures.moveInHour = 0.061;
      expect(gate(room, ph, 'rate')).toBe('open');
    }
    // Too cold is as far from the middle as too warm.
    const { room, temperature, ph } = warm('below');
    temperature.series.goodValue = 21.5;
    ph.series.goodValue = 8.48;
    expect(gate(room, ph, 'above')).toBe('strong temperature');
  });

  test('moves the salt by what the tables do not say', () => {
    // A salinity computed with a temperature that is 1 °C off is off by some 2 % of 35 (PSS-78, from memory).
    const { room } = warm();
    for (const [metric, most] of [
      ['salinity', 0.85],
      ['conductivity', 1.3],
      ['specific_conductance_25', 1.3],
      ['specific_gravity', 0.0008],
    ] as const) {
      const stream = room.stream(metric);
      stream.series.figures.moveInHour = 4.24 * most;
      expect(gate(room, stream, 'rate')).toBe('strong temperature');
      stream.series.figures.moveInHour = 4.26 * most;
      expect(gate(room, stream, 'rate')).toBe('open');
    }
  });

  test('is taken for what another metric does', () => {
    const room = standingRoom(bands);
    const salinity = room.stream('salinity');
    salinity.series.goodValue = 36.5;
    room.stream('ph').series.goodValue = 10;
    room.stands(room.stream('ph'), 'above');
    expect(gate(room, salinity, 'above')).toBe('open');
  });

  test('is hidden by another thermometer of the same water', () => {
    const room = standingRoom(bands);
    const left = room.stream('temperature', 'left');
    const right = room.stream('temperature', 'right');
    left.series.goodValue = 30;
    right.series.goodValue = 30;
    room.stands(left, 'above');
    expect(gate(room, right, 'above')).toBe('open');
  });
});
