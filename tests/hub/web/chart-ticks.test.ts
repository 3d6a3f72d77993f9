import { describe, expect, test } from 'vitest';
import { ticksOf } from '../../../hub/web/src/chart/chart-ticks.ts';
import type { Shows } from '../../../hub/web/src/kit/shown-number.ts';

const texts = (metric: Shows, low: number, high: number) => ticksOf(metric, low, high, 6).map(({ text }) => text);
const celsius: Shows = { unit: '°C', decimals: 2, shown: null };
const fahrenheit: Shows = {
  ...celsius,
  // Exact by definition. @source NIST SP 811, appendix B.8
  shown: {
    unit: '°F',
    decimals: 1,
    isBent: false,
    points: [
      [0, 32],
      [100, 212],
    ],
  },
};

describe('the scale of a chart', () => {
  test('a keeper has to divide to read a value off', () => {
    expect(texts(celsius, 24.89, 26.51)).toEqual(['25.0', '25.5', '26.0', '26.5']);
    expect(texts(celsius, 380, 460)).toEqual(['380', '400', '420', '440', '460']);
    expect(texts(celsius, 0.031, 0.082)).toEqual(['0.04', '0.05', '0.06', '0.07', '0.08']);
  });

  test('the lines are round in a unit that the keeper does not read', () => {
    const ticks = ticksOf(fahrenheit, 25, 26.5, 6);
    expect(ticks.map(({ text }) => text)).toEqual(['77.0', '77.5', '78.0', '78.5', '79.0', '79.5']);
    expect(ticks[0]?.value).toBeCloseTo(25, 9);
    expect(ticks[4]?.value).toBeCloseTo(((79 - 32) * 5) / 9, 9);
  });

  test('a scale without height stops the page', () => {
    expect(texts(celsius, 25, 25)).toEqual([]);
  });
});
