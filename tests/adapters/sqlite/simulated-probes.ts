import type { Reading, Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';

/** Of each kind of probe: where its values lie, how far they swing in a day, its noise and its last digit, in store units. */
const kinds: { metric: Metric; middle: number; swing: number; noise: number; digits: number }[] = [
  { metric: 'temperature', middle: 25.4, swing: 0.3, noise: 0.02, digits: 2 },
  { metric: 'ph', middle: 8.15, swing: 0.12, noise: 0.005, digits: 3 },
  { metric: 'conductivity', middle: 53.1, swing: 0.15, noise: 0.03, digits: 2 },
];

export type SimulatedProbe = { series: Series; reading(aboutMs: number): Reading };

/** The same numbers in every run, from 0 to 1. Constants of a linear congruential generator by Numerical Recipes. */
export function steadyChance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/**
 * Noisy probes as they are met in a room, invented: a daily swing, normal noise of a few last digits, rounded to what the
 * probe resolves, and times that are off by up to 20 ms either way.
 */
export function simulatedProbes(count: number): SimulatedProbe[] {
  return Array.from({ length: count }, (_, index) => {
    const kind = kinds[index % kinds.length]!;
    const chance = steadyChance(index + 1);
    const series = { system: `system_${index % 3}`, metric: kind.metric, probe: `probe_${index}` };
    return {
      series,
      reading(aboutMs) {
        const normal = Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
        const day = Math.sin((2 * Math.PI * (aboutMs + index * 3_600_000)) / 86_400_000);
        const value = Number((kind.middle + kind.swing * day + kind.noise * normal).toFixed(kind.digits));
        const timeMs = Math.round(aboutMs + index * 7 + (chance() - 0.5) * 40);
        return { series, timeMs, quality: { flag: 'pass', value } };
      },
    };
  });
}
