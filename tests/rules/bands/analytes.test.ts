import { describe, expect, test } from 'vitest';
import { dayMs, hourMs, mondayMs } from './script.ts';
import { TestedWater, waterWithout } from './tested-water.ts';

/** What tests, doses, demands and forecasts move. Limits: common practice, no published source. */

describe('a test', () => {
  test('on the edge is an alarm, or the next good one does not clear it, on either side', () => {
    for (const [edge, out, way, side] of [
      [9, 9.1, 'above', 'high'],
      [7.5, 7.4, 'below', 'low'],
    ] as const) {
      const water = new TestedWater();
      expect(water.test(0, edge)).toEqual([]);
      expect(water.test(1, out)).toEqual([`raised alkalinity/out_of_band/${side}/test`]);
      expect(water.last).toMatchObject({ system: 'tank', metric: 'alkalinity', value: out, rule: 'out_of_band' });
      expect(water.last.message).toMatch(
        new RegExp(
          `^Alkalinity was ${out.toFixed(2)} dKH at the last test, ${way} the band 7\\.5 to 9 dKH\\. [A-Z].*\\.$`,
        ),
      );
      expect(water.test(2, edge)).toEqual([`cleared alkalinity/out_of_band/${side}/test`]);
      expect(water.last.message).toBe(`Alkalinity was ${edge.toFixed(2)} dKH at the last test, back in the band.`);
    }
  });

  test('too high asks for a dose, or too low to stop it', () => {
    const water = new TestedWater();
    water.test(0, 9.5);
    expect(water.last.message).toMatch(/Stop dosing it/);
    water.test(1, 7);
    expect(water.last.message).toMatch(/check that the dosing ran/);
  });

  test('is forgotten, kept for ever, or not in the order of its time', () => {
    const water = new TestedWater();
    for (let day = 0; day < 15; day += 1) water.test(day, 8 + day / 100);
    expect(water.analyte().tests).toHaveLength(12);
    expect(water.analyte().tests.at(0)).toEqual({ timeMs: mondayMs + 3 * dayMs, value: 8.03 });
    // Entered late: in its place, and no word about now.
    expect(water.test(10.5, 6, 'alkalinity', 15)).toEqual([]);
    expect(
      water
        .analyte()
        .tests.map(({ value }) => value)
        .slice(-5),
    ).toEqual([8.1, 6, 8.11, 8.12, 8.13, 8.14].slice(-5));
    water.offer(
      { is: 'test', system: 'tank', analyte: 'alkalinity', value: 8, sd: 0.1, timeMs: mondayMs + 16 * dayMs },
      16,
    );
    expect(water.analyte().tests.at(-1)).toEqual({ timeMs: mondayMs + 16 * dayMs, value: 8, sd: 0.1 });
    expect(water.analyte().tests.at(-2)).not.toHaveProperty('sd');
  });

  test('after a restart begins a second memory of the same water', () => {
    const water = new TestedWater();
    water.test(0, 8);
    water.state = structuredClone(water.state);
    water.test(1, 8.1);
    expect(water.state.analytes.map(({ tests }) => tests.length)).toEqual([2]);
  });

  test('of a system that is not there, or by a rule that is off, is told', () => {
    expect(waterWithout('out_of_band').test(0, 5)).toEqual([]);
    const water = new TestedWater();
    expect(water.offer({ is: 'test', system: 'none', analyte: 'alkalinity', value: 5, timeMs: mondayMs }, 0)).toEqual(
      [],
    );
    expect(water.state.analytes).toEqual([]);
    // Without a band there is nothing to be out of.
    expect(new TestedWater([], { bands: {} }).test(0, 5)).toEqual([]);
  });
});

describe('doses', () => {
  /** Nine days of tests at 8 and a demand of 0.5 a day, which the daily doses make up for. */
  function dosed(): TestedWater {
    const water = new TestedWater();
    for (let day = 0; day < 9; day += 1) {
      water.test(day, 8);
      water.demand(day, 0.5);
    }
    return water;
  }

  test('that did not reach the water go unsaid, or are said on when they do', () => {
    const water = dosed();
    water.dose(8.5, 2);
    expect(water.test(9, 7.6)).toEqual(['raised alkalinity/dosed_not_moved']);
    expect(water.last).toMatchObject({ value: 7.6, metric: 'alkalinity', rule: 'dosed_not_moved' });
    expect(water.last.message).toBe(
      'Alkalinity was dosed, and the test does not show it (7.60 dKH). Test again, then check the container, the line and the strength of the solution before you dose more.',
    );
    water.dose(9.5, 2);
    expect(water.test(10, 9)).toEqual(['cleared alkalinity/dosed_not_moved']);
    expect(water.last.message).toBe('Alkalinity follows its doses again.');
  });

  test('are held against a demand of the last days, or judged without one or by a rule that is off', () => {
    const water = new TestedWater();
    for (let day = 0; day < 9; day += 1) water.test(day, 8);
    water.dose(8.5, 2);
    expect(water.test(9, 7.6)).toEqual([]);
    const silent = waterWithout('dosed_not_moved');
    for (let day = 0; day < 9; day += 1) {
      silent.test(day, 8);
      silent.demand(day, 0.5);
    }
    silent.dose(8.5, 2);
    expect(silent.test(9, 7.6)).toEqual([]);
  });

  test('are kept for longer than two weeks, without end, or out of their order', () => {
    const water = new TestedWater();
    const days = () => water.analyte().doses.map(({ timeMs }) => (timeMs - mondayMs) / dayMs);
    water.dose(0, 1);
    water.dose(0.5, 1);
    water.dose(14, 1);
    expect(days()).toEqual([0, 0.5, 14]);
    water.dose(14.25, 1);
    expect(days()).toEqual([0.5, 14, 14.25]);
    water.dose(14.125, 2);
    expect(days()).toEqual([0.5, 14, 14.125, 14.25]);
    for (let at = 0; at < 510; at += 1) water.dose(15 + at / 1024, 1);
    expect(water.analyte().doses).toHaveLength(500);
    expect(days().at(-1)).toBe(15 + 509 / 1024);
    water.offer({ is: 'dose', system: 'tank', timeMs: mondayMs, raisesBy: 1 }, 0);
    water.offer({ is: 'dose', system: 'tank', timeMs: mondayMs, analyteRaised: 'calcium' }, 0);
    water.offer({ is: 'dose', system: 'none', timeMs: mondayMs, analyteRaised: 'calcium', raisesBy: 1 }, 0);
    expect(water.state.analytes).toHaveLength(1);
  });
});

describe('a demand', () => {
  test('that changed is told as more when it is less, or without the figure before', () => {
    for (const [perDay, sentence] of [
      [1.5, 'The system uses more alkalinity than before: 1.5 dKH a day, it was 1 dKH.'],
      [0.5, 'The system uses less alkalinity than before: 0.5 dKH a day, it was 1 dKH.'],
    ] as const) {
      const water = new TestedWater();
      for (let day = 0; day < 7; day += 1) expect(water.demand(day, 1)).toEqual([]);
      expect(water.demand(7, perDay)).toEqual(['raised alkalinity/demand_changed']);
      expect(water.last).not.toHaveProperty('value');
      expect(water.last.message).toBe(
        `${sentence} Test again, look at the corals, and adjust the dosing only when a second test agrees.`,
      );
      expect(water.demand(8, 1.0625)).toEqual(['cleared alkalinity/demand_changed']);
      expect(water.last.message).toBe('The demand for alkalinity is near its usual again: 1.063 dKH a day.');
    }
  });

  test('is dated by the moment it was told, or of a system that is not there', () => {
    const water = new TestedWater();
    const at = mondayMs + 5 * hourMs;
    water.offer({ is: 'demand', system: 'tank', analyte: 'alkalinity', demandPerDay: 1, sd: 0.1, timeMs: at }, 2);
    expect(water.analyte().demand).toEqual([{ timeMs: at, perDay: 1, sd: 0.1 }]);
    water.demand(3, 2);
    expect(water.analyte().demand[1]?.timeMs).toBe(mondayMs + 3 * dayMs);
    water.offer({ is: 'demand', system: 'none', analyte: 'alkalinity', demandPerDay: 1, sd: 0.1 }, 4);
    expect(water.state.analytes).toHaveLength(1);
    const silent = waterWithout('demand_changed');
    for (let day = 0; day < 7; day += 1) silent.demand(day, 1);
    expect(silent.demand(7, 3)).toEqual([]);
  });

  test('of calcium that does not go with the alkalinity is told without the figure it should be', () => {
    const water = new TestedWater();
    water.demand(0, 1);
    expect(water.demand(0.5, 14, 0.5, 'calcium')).toEqual(['raised calcium/calcium_alkalinity_out_of_step']);
    expect(water.last).toMatchObject({ metric: 'calcium', system: 'tank' });
    expect(water.last).not.toHaveProperty('value');
    // 40.078 / (2 x 2.80385) = 7.147 mg/L of calcium go with each dKH (CaCO3, IUPAC weights).
    expect(water.last.message).toBe(
      'Calcium goes down by 14 mg/L a day, but the alkalinity that goes with it calls for 7.1 mg/L. Repeat both tests with care before you change a dose.',
    );
    // Either of the two can bring them back in step.
    expect(water.demand(1.5, 2)).toEqual(['cleared calcium/calcium_alkalinity_out_of_step']);
    expect(water.last.message).toBe('Calcium and alkalinity fall in proportion again.');
    // Without any alkalinity there is nothing to go with.
    expect(new TestedWater().demand(0, 14, 0.5, 'calcium')).toEqual([]);
    const silent = waterWithout('calcium_alkalinity_out_of_step');
    silent.demand(0, 1);
    expect(silent.demand(0.5, 14, 0.5, 'calcium')).toEqual([]);
  });
});
