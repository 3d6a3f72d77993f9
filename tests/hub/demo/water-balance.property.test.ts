import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inventedSystems, type SystemSetup } from '../../../hub/demo/reef-system.ts';
import { afterWaterChange, quietRoom, stepRoom, systemOf, withSystem } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { alkalinityOf, calciumOf, massKgOf, salinityOf, volumeLOf } from '../../../hub/demo/water.ts';
import { probePhOf } from '../../../hub/demo/water-carbonate.ts';

/** A system without corals and doses: only water moves, so every solute but carbon must stay to the last bit. */
const lifeless: SystemSetup = {
  ...inventedSystems[0]!,
  id: 'lifeless',
  calcification_dKH_day: 0,
  dosing_mL_day: { sodiumCarbonate: 0, calciumChloride: 0 },
};
const stepSeconds = fc.integer({ min: 1, max: 3600 });
const history = fc.array(stepSeconds, { minLength: 1, maxLength: 60 });
const seed = fc.integer({ min: 0, max: 0xffffffff });
const startMs = Date.UTC(2026, 2, 3, 7);

describe('the water of a simulated system', () => {
  it('keeps all of its salt while water evaporates and is topped off', () => {
    fc.assert(
      fc.property(history, seed, fc.constantFrom('none', 'top_off_stopped'), (steps, noise, fault) => {
        let room = quietRoom(startMs, 0, [lifeless]);
        if (fault === 'top_off_stopped') room = withSystem(room, 'lifeless', { faults: [fault] });
        const before = systemOf(room, 'lifeless').water;
        const random = seededRandom(noise);
        for (const seconds of steps) room = stepRoom(room, seconds, random);
        const after = systemOf(room, 'lifeless').water;
        expect(Math.abs(after.saltG / before.saltG - 1)).toBeLessThan(1e-12);
        expect(Math.abs(after.alkalinity_mmol / before.alkalinity_mmol - 1)).toBeLessThan(1e-12);
        expect(Math.abs(after.calcium_mmol / before.calcium_mmol - 1)).toBeLessThan(1e-12);
      }),
      { numRuns: 40 },
    );
  });

  it('grows saltier by as much as the mass it lost when the top-off stops', () => {
    fc.assert(
      fc.property(history, seed, (steps, noise) => {
        let room = withSystem(quietRoom(startMs, 0, [lifeless]), 'lifeless', { faults: ['top_off_stopped'] });
        const before = systemOf(room, 'lifeless').water;
        const random = seededRandom(noise);
        for (const seconds of steps) room = stepRoom(room, seconds, random);
        const after = systemOf(room, 'lifeless').water;
        // The definition of a mass fraction, independent of how the room computes it: S1 m1 = S0 m0.
        const expected = (salinityOf(before) * massKgOf(before)) / massKgOf(after);
        expect(massKgOf(after)).toBeLessThan(massKgOf(before));
        expect(Math.abs(salinityOf(after) - expected)).toBeLessThan(1e-9);
      }),
      { numRuns: 40 },
    );
  });

  it('stays within a fraction of a litre of its volume while the top-off works', () => {
    fc.assert(
      fc.property(seed, (noise) => {
        const random = seededRandom(noise);
        let room = quietRoom(startMs, 0);
        for (let minute = 0; minute < 600; minute += 1) {
          room = stepRoom(room, 60, random);
          for (const { setup, water } of room.systems) {
            expect(Math.abs(volumeLOf(water) / setup.volumeL - 1)).toBeLessThan(0.004);
          }
        }
      }),
      { numRuns: 4 },
    );
  });

  it('uses 7.147 mg/L of calcium for each dKH, since calcification builds CaCO3', () => {
    // Two equivalents and one calcium a mole of CaCO3, and 1 dKH = 10 mg/L CaO = 0.35665 meq/L: 0.35665 / 2 x 40.078.
    const setup = { ...inventedSystems[1]!, dosing_mL_day: { sodiumCarbonate: 0, calciumChloride: 0 } };
    let room = quietRoom(startMs, 0, [setup]);
    const before = systemOf(room, setup.id).water;
    const random = seededRandom(5);
    for (let hour = 0; hour < 24; hour += 1) room = stepRoom(room, 3600, random);
    const after = systemOf(room, setup.id).water;
    // By litre of the first day's water, so that the level of the moment does not matter.
    const scale = volumeLOf(after) / volumeLOf(before);
    const used_dKH = alkalinityOf(before) - alkalinityOf(after) * scale;
    const used_mg_L = calciumOf(before) - calciumOf(after) * scale;
    expect(used_dKH).toBeGreaterThan(1);
    expect(used_mg_L / used_dKH).toBeCloseTo(7.147, 3);
  });

  it('leaves 35 g of salt a kilogram where practical salinity is 35 times 35/35.16504', () => {
    // TEOS-10: a practical salinity of 35 is an Absolute Salinity of 35.16504 g/kg (reference composition).
    const water = systemOf(quietRoom(startMs, 0), 'display').water;
    expect(salinityOf(water)).toBeCloseTo(35, 9);
    expect(water.saltG / massKgOf(water)).toBeCloseTo(35.16504, 6);
  });
});

describe('a water change of a simulated system', () => {
  it('with water like that of the start leaves every concentration and pH as it was', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 200 }), (litres) => {
        const room = quietRoom(startMs, 0);
        const before = systemOf(room, 'display').water;
        const after = systemOf(afterWaterChange(room, 'display', litres, 35), 'display').water;
        expect(salinityOf(after)).toBeCloseTo(salinityOf(before), 9);
        expect(alkalinityOf(after)).toBeCloseTo(alkalinityOf(before), 9);
        expect(calciumOf(after)).toBeCloseTo(calciumOf(before), 7);
        expect(probePhOf(after)).toBeCloseTo(probePhOf(before), 7);
        expect(volumeLOf(after)).toBeCloseTo(volumeLOf(before), 7);
      }),
    );
  });

  it('with weaker water dilutes by the share that was changed', () => {
    const room = afterWaterChange(quietRoom(startMs, 0), 'display', 42, 30);
    // A tenth by volume: 0.9 x 35 + 0.1 x 30, up to the density of the weaker water (0.4 %).
    expect(salinityOf(systemOf(room, 'display').water)).toBeCloseTo(34.5, 2);
  });
});
