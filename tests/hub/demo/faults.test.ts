import { describe, expect, it } from 'vitest';
import type { Fault, SystemState } from '../../../hub/demo/reef-system.ts';
import { quietRoom, stepRoom, systemOf, withSystem } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { alkalinityOf, salinityOf, volumeLOf } from '../../../hub/demo/water.ts';
import { carbonateOf, probePhOf } from '../../../hub/demo/water-carbonate.ts';

/** The display after some hours with one fault, and after the same hours and the same chance without it. */
function withAndWithout(fault: Fault, hours: number, id = 'display'): { sick: SystemState; sound: SystemState } {
  const run = (faults: readonly Fault[]) => {
    const random = seededRandom(11);
    let room = withSystem(quietRoom(Date.UTC(2026, 4, 6, 8), 0), id, { faults });
    for (let minute = 0; minute < hours * 60; minute += 1) room = stepRoom(room, 60, random);
    return systemOf(room, id);
  };
  return { sick: run([fault]), sound: run([]) };
}

describe('a fault of the simulated room', () => {
  it('that welds the heater on warms the water by its power over its heat capacity', () => {
    const { sick, sound } = withAndWithout('heater_stuck_on', 1);
    const gained_C = sick.water.temperature_C - 25.6;
    // First hour by hand: 600 W heater + 55 W pumps - 42 W/K x 3.3 K to the morning's room - 141 W for 5 L evaporated a
    // day (2.442 MJ/kg) leaves about 375 W; 420 L of seawater of 1.023 kg/L hold 3994 J/kg/K (TEOS-10): 0.79 °C an hour.
    expect(gained_C).toBeGreaterThan(0.6);
    expect(gained_C).toBeLessThan(0.95);
    expect(Math.abs(sound.water.temperature_C - 25.6)).toBeLessThan(0.15);
  });

  it('that leaves the heater cold cools the water towards the room and not below it', () => {
    const { sick, sound } = withAndWithout('heater_stuck_off', 12);
    expect(sick.water.temperature_C).toBeLessThan(sound.water.temperature_C - 1);
    expect(sick.water.temperature_C).toBeGreaterThan(20);
  });

  it('that stops the top-off raises salinity and lowers the level', () => {
    const { sick, sound } = withAndWithout('top_off_stopped', 24);
    expect(salinityOf(sick.water)).toBeGreaterThan(salinityOf(sound.water) + 0.2);
    expect(volumeLOf(sick.water)).toBeLessThan(volumeLOf(sound.water) - 3);
  });

  it('that jams the top-off open lowers salinity and raises the level to the brim, until its container is empty', () => {
    const { sick, sound } = withAndWithout('top_off_stuck_open', 6, 'quarantine');
    expect(salinityOf(sick.water)).toBeLessThan(salinityOf(sound.water) - 2);
    expect(salinityOf(sick.water)).toBeGreaterThan(28);
    expect(volumeLOf(sick.water)).toBeGreaterThan(83);
    expect(volumeLOf(sick.water)).toBeLessThanOrEqual(84.1);
  });

  it('that stops the doses lowers alkalinity by about a day of demand', () => {
    const { sick, sound } = withAndWithout('dosing_stopped', 24);
    const missing_dKH = alkalinityOf(sound.water) - alkalinityOf(sick.water);
    // 104 mL a day of 1 mol/L sodium carbonate: 208 meq in 420 L, over 0.35665 meq/L a dKH, is 1.39 dKH; the corals
    // slow down a little as saturation falls.
    expect(missing_dKH).toBeGreaterThan(1.1);
    expect(missing_dKH).toBeLessThan(1.4);
  });

  it('of stale room air lowers pH at once and moves alkalinity only by slower corals, as carbon dioxide does', () => {
    const { sick, sound } = withAndWithout('stale_air', 6);
    expect(probePhOf(sick.water)).toBeLessThan(probePhOf(sound.water) - 0.1);
    expect(carbonateOf(sick.water).pco2_uatm).toBeGreaterThan(carbonateOf(sound.water).pco2_uatm + 100);
    // Carbon dioxide carries no alkalinity (Dickson's definition); lower saturation can only leave more of it unused.
    const left_dKH = alkalinityOf(sick.water) - alkalinityOf(sound.water);
    expect(left_dKH).toBeGreaterThan(-0.001);
    expect(left_dKH).toBeLessThan(0.2);
  });

  it('is refused for a system that does not exist', () => {
    expect(() => withSystem(quietRoom(0, 0), 'nowhere', { faults: [] })).toThrow('nowhere');
  });
});
