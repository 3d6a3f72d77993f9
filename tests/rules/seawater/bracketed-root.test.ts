import { describe, expect, it } from 'vitest';
import { rootInBracket } from '#rules/seawater/bracketed-root.ts';

// Straight lines, whose roots are known by construction.

describe('the root finder', () => {
  it('gives the nearer end where the root lies outside, or misses one at the very end', () => {
    for (const [root, end] of [
      [-11, -10],
      [11, 10],
      [Number.NaN, 10],
    ] as const)
      expect(() => rootInBracket('x, m', (x) => x - root, -10, 10)).toThrow(
        `x, m is ${end}, allowed: inside -10 to 10`,
      );
    for (const end of [-10, 10]) expect(rootInBracket('x, m', (x) => x - end, -10, 10)).toBeCloseTo(end, 12);
    expect(rootInBracket('x, m', (x) => x, 0, 42)).toBe(0);
  });
});
