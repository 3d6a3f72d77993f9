import { describe, expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { RoomState } from '#rules/bands/room.ts';
import type { RuleOverride, WatchedSystem } from '#rules/bands/watched-room.ts';
import { dayMs, mondayMs } from './script.ts';
import { TestedWater, waterWithout } from './tested-water.ts';

// From which hour and chance on a forecast is told and taken back: the rule's own limits, common practice, no published source.

describe('a forecast', () => {
  const id = 'alkalinity/drift/forecast';

  test.each([
    // hours, chance, and what it does: to a calm alkalinity, to one that was told
    [47, 0.8, true, false],
    [48, 0.9, false, false],
    [47, 0.79, false, false],
    [47, 0.6, false, false],
    [47, 0.59, false, true],
    [59, 0.95, false, false],
    [60, 0.95, false, true],
    [70, 0.7, false, true],
    [undefined, 0.95, false, true],
  ])('of %s h with a chance of %s is told, or not, or taken back', (hours, probability, isRaised, isCleared) => {
    expect(new TestedWater().forecast(0, hours, probability, 'low')).toEqual(isRaised ? [`raised ${id}`] : []);
    const told = new TestedWater();
    told.forecast(0, 30, 0.9, 'low');
    expect(told.forecast(1, hours, probability, 'low')).toEqual(isCleared ? [`cleared ${id}`] : []);
  });

  test('names the wrong edge, a wrong time, or a certainty', () => {
    const said = (hours: number, probability: number, side?: 'low' | 'high') => {
      const water = new TestedWater();
      water.forecast(0, hours, probability, side);
      return water.last.message;
    };
    const band = 'its band of 7.5 to 9 dKH';
    const then = "Test it, then see today's advice.";
    expect(said(30, 0.9, 'high')).toBe(`Alkalinity is likely to be above ${band} within 30 h (90 in 100). ${then}`);
    expect(said(30, 0.9, 'low')).toBe(`Alkalinity is likely to be below ${band} within 30 h (90 in 100). ${then}`);
    expect(said(30, 0.9)).toBe(`Alkalinity is likely to be out of ${band} within 30 h (90 in 100). ${then}`);
    expect(said(0.5, 0.994, 'low')).toContain('in 30 min (99 in 100)');
    expect(said(0.49, 0.996, 'low')).toContain('by now (more than 99 in 100)');
    const water = new TestedWater();
    water.forecast(0, 30, 0.9);
    water.forecast(1, undefined, 0.1);
    expect(water.last.message).toBe('Alkalinity is no longer expected to leave its band soon.');
    expect(water.last).not.toHaveProperty('value');
  });

  test('is not remembered for what else asks, or told by a rule that is off', () => {
    const water = new TestedWater();
    water.forecast(1, 30, 0.9, 'high');
    expect(water.analyte()).toMatchObject({
      forecastMs: mondayMs + dayMs,
      forecast: { hoursToLeave: 30, probability: 0.9, side: 'high' },
    });
    water.forecast(2, undefined, 0.1);
    expect(water.analyte()).toMatchObject({ forecast: { hoursToLeave: null, probability: 0.1, side: null } });
    expect(waterWithout('drift').forecast(0, 30, 0.9, 'low')).toEqual([]);
    expect(new TestedWater([], { bands: {} }).forecast(0, 30, 0.9, 'low')).toEqual([]);
    const none: Evidence = { is: 'forecast', system: 'none', metric: 'alkalinity', probability: 0.9 };
    expect(water.offer(none, 3)).toEqual([]);
    expect(water.state.analytes).toHaveLength(1);
  });
});

/** What a person switches off is over at once, whatever raised it; see `settingsOf`. */
test.each<[RuleOverride['rule'], (water: TestedWater) => void]>([
  ['out_of_band', (water) => water.test(0, 5)],
  ['out_of_band', (water) => water.test(0, 12)],
  ['drift', (water) => water.forecast(0, 30, 0.9, 'low')],
  [
    'demand_changed',
    (water) => {
      for (let day = 0; day < 7; day += 1) water.demand(day / 10 - 6 + day, 1);
      water.demand(2, 2);
    },
  ],
  [
    'calcium_alkalinity_out_of_step',
    (water) => {
      water.demand(0, 1);
      water.demand(0.1, 14, 0.5, 'calcium');
    },
  ],
  [
    'dosed_not_moved',
    (water) => {
      for (let day = -9; day < 0; day += 1) {
        water.test(day, 8);
        water.demand(day, 0.5);
      }
      water.dose(-0.5, 2);
      water.test(0, 7.6);
    },
  ],
])('an alarm by %s stands on when its rule is switched off, or ends while it is on', (rule, raise) => {
  const water = new TestedWater();
  raise(water);
  expect(water.last).toMatchObject({ state: 'raised', rule });
  const tick = (overrides: RuleOverride[], system: Partial<WatchedSystem> = {}) => {
    const later = new TestedWater(overrides, system);
    later.state = JSON.parse(JSON.stringify(water.state)) as RoomState;
    const startDay = (later.state.nowMs! - mondayMs) / dayMs;
    later.offer({ is: 'time' }, startDay + 1 / 1440);
    return later.events.filter((event) => event.rule === rule).map(({ state, message }) => `${state}: ${message}`);
  };
  expect(tick([])).toEqual([]);
  expect(tick([{ rule, enabled: false }])).toEqual(['cleared: This rule was switched off.']);
  // So does one whose system was taken out of the configuration.
  expect(tick([], { id: 'other' })).toEqual(['cleared: This rule was switched off.']);
});
