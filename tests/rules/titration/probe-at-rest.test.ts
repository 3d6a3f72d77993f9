import { describe, expect, it } from 'vitest';
import { combined, coverageFactor95 } from '#rules/titration/coverage.ts';
import { probeAtRest } from '#rules/titration/probe-at-rest.ts';
import { gaussian, seededRandom } from '../../../hub/demo/seeded-random.ts';

const every = (seconds: number, count: number, ph: (second: number) => number) =>
  Array.from({ length: count }, (_, index) => ({ timeMs: 1000 * seconds * index, ph: ph(seconds * index) }));

describe('a probe in a beaker', () => {
  it('that still falls like an electrode of 15 s is taken for one at rest', () => {
    const falls = (second: number) => 4 + 0.5 * Math.exp(-second / 15);
    expect(probeAtRest(every(1, 40, falls), 0, 39_000).state).toBe('moving');
    const late = probeAtRest(every(1, 91, falls), 0, 90_000);
    expect(late.state).toBe('at_rest');
    expect('ph' in late && Math.abs(late.ph - 4)).toBeLessThan(0.01);
  });

  it('with the noise of a hobby meter never comes to rest, or a drift of 0.02 in ten seconds hides in it', () => {
    const random = seededRandom(3);
    const noisy = every(1, 60, () => 3.5 + 0.01 * gaussian(random));
    expect(probeAtRest(noisy, 0, 59_000).state).toBe('at_rest');
    expect(
      probeAtRest(
        noisy.map(({ timeMs, ph }) => ({ timeMs, ph: ph - 0.002 * (timeMs / 1000) })),
        0,
        59_000,
      ).state,
    ).toBe('moving');
  });

  it('counts before the acid has mixed, or with too few readings', () => {
    expect(
      probeAtRest(
        every(1, 25, () => 4),
        0,
        24_000,
      ),
    ).toEqual({ state: 'too_few', readings: 15 });
    expect(
      probeAtRest(
        every(10, 6, () => 4),
        0,
        50_000,
      ),
    ).toEqual({ state: 'too_few', readings: 5 });
    expect(
      probeAtRest(
        every(10, 7, () => 4),
        0,
        60_000,
      ),
    ).toMatchObject({ state: 'at_rest', ph: 4, readings: 6 });
  });

  it('that is unplugged is waited for in silence', () => {
    expect(
      probeAtRest(
        every(1, 30, () => 4),
        0,
        91_000,
      ),
    ).toEqual({ state: 'silent' });
    expect(probeAtRest([], 0, 61_000)).toEqual({ state: 'silent' });
    expect(probeAtRest([], 0, 30_000)).toEqual({ state: 'too_few', readings: 0 });
  });
});

// Closed forms of Student's distribution: for one degree of freedom tan(0.475 π), for two √2 · 0.95 / √(2 · 0.025 · 0.975) / √2.
describe('the 95 % interval', () => {
  it('is that of Student for few points and of the normal distribution for many', () => {
    expect(coverageFactor95(1)).toBeCloseTo(Math.tan(0.475 * Math.PI), 2);
    expect(coverageFactor95(2)).toBeCloseTo(0.95 / Math.sqrt(2 * 0.025 * 0.975), 2);
    expect(coverageFactor95(Number.POSITIVE_INFINITY)).toBe(1.96);
    // JCGM 100:2008, G.4.1 note 1: a number of degrees of freedom that is not whole is taken lower.
    expect(coverageFactor95(7.9)).toBe(coverageFactor95(7));
    expect(coverageFactor95(0.5)).toBe(coverageFactor95(1));
  });

  // JCGM 100:2008, H.1.6: u = 32 nm with 16 effective degrees of freedom.
  it('has the degrees of freedom of its parts by Welch and Satterthwaite', () => {
    const parts = [
      { sd: 25, freedom: 18 },
      { sd: 9.7, freedom: 25.6 },
      { sd: 2.9, freedom: 50 },
      { sd: 16.6, freedom: 2 },
    ];
    const { sd, halfWidth95 } = combined(parts);
    expect(sd).toBeCloseTo(31.7, 1);
    expect(halfWidth95 / sd).toBe(coverageFactor95(16));
    expect(combined([]).sd).toBe(0);
  });
});
