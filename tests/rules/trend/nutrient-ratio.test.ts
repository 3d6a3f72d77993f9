import { expect, test } from 'vitest';
import { molesPerMassRatio, nutrientRatio } from '#rules/trend/nutrient-ratio.ts';

// 62.004 g/mol of nitrate, 94.970 g/mol of phosphate: 16 atoms of N to 1 of P (Redfield, Ketchum & Richards 1963) are 10.446 to 1 by mass.
test('the ratio by mass is taken for that by atoms', () => {
  const mass = (16 * 62.004) / 94.97;
  expect(mass * molesPerMassRatio).toBeCloseTo(16, 3);
});

test('the interval of the ratio is not where the data just bear it', () => {
  const [nitrate, phosphate] = [
    { level: 5, levelSd: 0.5 },
    { level: 0.05, levelSd: 0.008 },
  ];
  const { ratio, low95, high95 } = nutrientRatio(nitrate, phosphate);
  expect(ratio).toBeCloseTo(100, 9);
  // Fieller's definition: at either end nitrate − ratio × phosphate is 1.96 of its own standard deviations from 0.
  for (const end of [low95, high95!]) {
    const away = Math.abs(5 - end * 0.05) / Math.hypot(0.5, end * 0.008);
    expect(away).toBeCloseTo(1.96, 9);
  }
  expect(low95).toBeLessThan(100);
  expect(high95).toBeGreaterThan(100);
});

test('phosphate that may be nothing has a ratio with an upper end', () => {
  const found = nutrientRatio({ level: 5, levelSd: 0.5 }, { level: 0.01, levelSd: 0.01 });
  expect(found.high95).toBeUndefined();
  expect(found.low95).toBeCloseTo((5 - 0.98) / (0.01 + 0.0196), 6);
  expect(nutrientRatio({ level: 5, levelSd: 0.5 }, { level: 0, levelSd: 0.01 }).ratio).toBeUndefined();
  expect(() => nutrientRatio({ level: -1, levelSd: 1 }, { level: 1, levelSd: 1 })).toThrow('nitrate');
});
