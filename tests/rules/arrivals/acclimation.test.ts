import { describe, expect, it } from 'vitest';
import { acclimationPlan } from '#rules/arrivals/acclimation.ts';

const tank = { temperature: 25.5, salinity: 35, ph: 8.1 };
const bag = { temperature: 22, salinity: 31, ph: 8.0 };

describe('acclimation worked by hand', () => {
  // 3 L at 31 towards 35: one unit each is 1/4, 1/3, 1/2 of the water; then half of it to 34.5: 0.75, 1, 1.5, 1.5 L.
  it('salinity is brought over faster than one unit in a quarter of an hour', () => {
    const plan = acclimationPlan(bag, tank, 3, false);
    expect(plan.steps[0]).toEqual({ kind: 'float', minutes: 60 });
    const exchanges = plan.steps.filter((step) => step.kind === 'exchange');
    expect(exchanges.map(({ litres }) => Number(litres.toFixed(9)))).toEqual([0.75, 1, 1.5, 1.5]);
    expect(exchanges.map(({ salinityAfter }) => salinityAfter)).toEqual([32, 33, 34, 34.5]);
    expect(plan.totalMinutes).toBe(120);
    expect(plan.tankL).toBeCloseTo(4.75, 9);
    expect(plan.warnings.join(' ')).toContain('Salinity would rise from 31.00 to 35.00');
    // °F = °C × 9/5 + 32, by definition: 22 °C is 71.6 °F.
    const cold = acclimationPlan({ ...tank, temperature: 22 }, tank, 3, false, undefined, { temperature: '°F' });
    expect(cold.warnings.join(' ')).toContain('Temperature would rise from 71.60 °F');
  });

  it('with ammonia in the bag the corals sit in it as long', () => {
    const short = acclimationPlan(bag, tank, 3, true);
    expect(short.totalMinutes).toBeLessThan(acclimationPlan(bag, tank, 3, false).totalMinutes - 30);
    expect(short.warnings.join(' ')).toContain('Ammonia');
  });

  it('water that matches is exchanged for nothing', () => {
    const plan = acclimationPlan({ ...tank, temperature: 22 }, tank, 3, false);
    expect(plan.steps).toEqual([{ kind: 'float', minutes: 60 }]);
    expect(plan.tankL).toBe(0);
  });

  it('a pH that differs is met at once, or is stretched out although ammonia is set free', () => {
    const low = { ...tank, ph: 7.4 };
    expect(acclimationPlan(low, tank, 3, false).steps).toHaveLength(4);
    expect(acclimationPlan(low, tank, 3, true).steps).toHaveLength(1);
  });

  // A third of 3 L three times, a quarter of an hour each, after the hour afloat.
  it('a pH that differs is met by other litres or minutes than thirds of the bag water', () => {
    const plan = acclimationPlan({ ...tank, ph: 7.4 }, tank, 3, false);
    expect(plan.steps.slice(1)).toEqual(Array(3).fill({ kind: 'exchange', litres: 1, minutes: 15 }));
    expect([plan.tankL, plan.totalMinutes]).toEqual([3, 105]);
  });

  it('ammonia asks for exchanges to be kept short where there are none', () => {
    expect(acclimationPlan(tank, tank, 3, true).warnings.join(' ')).not.toContain('exchanges');
  });

  it('what was not measured is not said', () => {
    expect(acclimationPlan({ temperature: 25 }, tank, 3, false).warnings).toEqual([
      'Not measured in both waters: salinity, ph.',
    ]);
  });

  it('bags float for less than an hour, or hold negative litres', () => {
    expect(() => acclimationPlan(bag, tank, 3, false, 30)).toThrow(/float, minutes is 30/);
    expect(() => acclimationPlan(bag, tank, -3, false)).toThrow(/water of the bags, L is -3/);
  });
});

it('waters that match and were measured come with a warning', () => {
  expect(acclimationPlan(tank, tank, 3, false).warnings).toEqual([]);
});
