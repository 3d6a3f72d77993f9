import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import { beforeAll, describe, expect, it } from 'vitest';
import { type DemoRoom, inventedSystems } from '../../../hub/demo/reef-system.ts';
import { quietRoom, readProbes, stepRoom, systemOf, trueValue } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { waterAtStart } from '../../../hub/demo/water.ts';
import { carbonateOf } from '../../../hub/demo/water-carbonate.ts';

const minutes = 1440;
/** The fourth day, a state every minute, after three days in which the start is forgotten. */
const day: DemoRoom[] = [];

beforeAll(() => {
  const random = seededRandom(21);
  let room = quietRoom(Date.UTC(2026, 0, 5), 0);
  for (let minute = 0; minute < 4 * minutes; minute += 1) {
    room = stepRoom(room, 60, random);
    if (minute >= 3 * minutes) day.push(room);
  }
});

const hourOf = (room: DemoRoom) => (room.timeMs / 3_600_000) % 24;

describe('the day cycle of the simulated reef', () => {
  it('swings pH as reefs do, lowest at dawn and highest in the afternoon', () => {
    // Coral reefs over a day: pH (total scale) between about 7.8 and 8.4, swings of about 0.1 to 0.5. Hofmann et al. 2011,
    // PLoS ONE 6:e28983, and Ohde & van Woesik 1999, Bulletin of Marine Science 65; both figures from memory.
    for (const id of ['display', 'growout']) {
      const course = day.map((room) => ({ hour: hourOf(room), ph: carbonateOf(systemOf(room, id).water).phTotal }));
      const lowest = course.reduce((least, next) => (next.ph < least.ph ? next : least));
      const highest = course.reduce((most, next) => (next.ph > most.ph ? next : most));
      expect(lowest.ph, id).toBeGreaterThan(7.8);
      expect(highest.ph, id).toBeLessThan(8.4);
      expect(highest.ph - lowest.ph, id).toBeGreaterThan(0.1);
      expect(highest.ph - lowest.ph, id).toBeLessThan(0.5);
      expect(lowest.hour, id).toBeGreaterThan(5);
      expect(lowest.hour, id).toBeLessThan(11);
      expect(highest.hour, id).toBeGreaterThan(14);
      expect(highest.hour, id).toBeLessThan(21);
    }
  });

  it('keeps temperature within the reach of the thermostat', () => {
    for (const room of day) {
      for (const { setup, water } of room.systems) {
        expect(Math.abs(water.temperature_C - setup.setpoint_C)).toBeLessThan(setup.thermostatReach_C + 0.05);
      }
    }
  });

  it('keeps aragonite saturation where stony corals grow', () => {
    // Reef waters lie between about 2.5 and 5, tanks with raised alkalinity somewhat above: common practice, no published source.
    for (const room of day) {
      const { omegaAragonite } = carbonateOf(systemOf(room, 'display').water);
      expect(omegaAragonite).toBeGreaterThan(2.5);
      expect(omegaAragonite).toBeLessThan(6.5);
    }
  });
});

describe('the probes of the simulated room', () => {
  it('show the conductivity that seawater of their salinity and temperature has', () => {
    // fixtures/reference/seawater-practical-salinity.csv: PSS-78 by TEOS-10 GSW (see the README beside it).
    const path = new URL('../../../fixtures/reference/seawater-practical-salinity.csv', import.meta.url);
    const rows = parse(readFileSync(path), { columns: true }) as Record<string, string>[];
    const ofReef = rows.filter(
      (row) => Number(row['practical_salinity']) > 30 && Number(row['practical_salinity']) < 38,
    );
    expect(ofReef.length).toBeGreaterThan(10);
    for (const row of ofReef) {
      const setup = { ...inventedSystems[0]!, setpoint_C: Number(row['temperature_C']) };
      const salinity = Number(row['practical_salinity']);
      const water = waterAtStart({ ...setup, start: { ...setup.start, salinity } });
      expect(trueValue(water, 'conductivity')).toBeCloseTo(Number(row['conductivity_mS_cm']), 6);
    }
  });

  it('scatter by their noise and show no digit below their resolution', () => {
    const random = seededRandom(4);
    const room = quietRoom(Date.UTC(2026, 0, 5), 0);
    const truth = systemOf(room, 'display').water.temperature_C;
    const shown = Array.from({ length: 4000 }, () => {
      const reading = readProbes(room, random).find(({ probe }) => probe === 'display-temperature');
      return reading?.value ?? Number.NaN;
    });
    const mean = shown.reduce((sum, value) => sum + value, 0) / shown.length;
    const sd = Math.sqrt(shown.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (shown.length - 1));
    expect(Math.abs(mean - truth)).toBeLessThan(0.001);
    // Noise 0.012 and a step of 0.01 (0.01/sqrt 12): 0.0123 together.
    expect(sd).toBeGreaterThan(0.0115);
    expect(sd).toBeLessThan(0.0131);
    for (const value of shown) expect(Math.abs(value * 100 - Math.round(value * 100))).toBeLessThan(1e-9);
  });
});
