import type { Observation } from '#adapters/ports/observation.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { type Config, configSchema } from '../model/config/schema.ts';

/** How often each probe of the simulated rooms speaks. */
export const everyMs = 10_000;

const probesOfSystem = 10;

/** Invented probes: where they lie, how far they swing in a day, their noise, their last digit. In store units. */
const kinds: readonly {
  metric: Metric;
  low: number;
  high: number;
  middle: number;
  swing: number;
  noise: number;
  digits: number;
}[] = [
  { metric: 'temperature', low: 24.8, high: 26.6, middle: 25.6, swing: 0.3, noise: 0.02, digits: 2 },
  { metric: 'ph', low: 7.8, high: 8.5, middle: 8.15, swing: 0.12, noise: 0.005, digits: 3 },
  { metric: 'conductivity', low: 50, high: 57, middle: 53.6, swing: 0.15, noise: 0.03, digits: 2 },
  { metric: 'orp', low: 230, high: 430, middle: 330, swing: 20, noise: 2, digits: 0 },
  { metric: 'level', low: 100, high: 300, middle: 200, swing: 10, noise: 1, digits: 0 },
];

export type SimulatedProbe = {
  id: string;
  topic: string;
  system: string;
  metric: Metric;
  valueAt(timeMs: number): number;
};

/** Numbers from 0 to 1 that are the same in every run. Constants of a linear congruential generator by Numerical Recipes. */
function steadyChance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Quiet, noisy probes: the rules have to look at each reading and find nothing. */
export function simulatedProbes(count: number): SimulatedProbe[] {
  return Array.from({ length: count }, (_, index) => {
    const kind = kinds[index % kinds.length]!;
    const chance = steadyChance(index + 1);
    return {
      id: `p${index}`,
      topic: `probes/p${index}`,
      system: `s${Math.floor(index / probesOfSystem)}`,
      metric: kind.metric,
      valueAt(timeMs) {
        const day = Math.sin((timeMs / dayMs) * 2 * Math.PI);
        return Number((kind.middle + kind.swing * day + kind.noise * (chance() * 2 - 1)).toFixed(kind.digits));
      },
    };
  });
}

/** The blocks of a configuration with these probes on MQTT, ten to a system, each system with all its bands. */
export function roomBlocks(probes: readonly SimulatedProbe[], format: 'senml' | 'number') {
  const systems = [...new Set(probes.map(({ system }) => system))];
  const bands = Object.fromEntries(kinds.map(({ metric, low, high }) => [metric, { low, high }]));
  return {
    site: { name: 'Invented room' },
    clock: { trust: 'always' },
    systems: systems.map((id) => ({
      id,
      name: `Tank ${id}`,
      volume_l: 400,
      bands: { ...bands, salinity: { low: 33, high: 37.5, most_per_day: 0.8 } },
    })),
    probes: probes.map(({ id, system, metric, topic }) => ({
      id,
      system,
      metric,
      every_seconds: everyMs / 1000,
      mqtt: { topic, format, channel: format === 'senml' ? 'v' : '' },
    })),
  };
}

export function roomConfig(probes: readonly SimulatedProbe[]): Config {
  return configSchema.parse(roomBlocks(probes, 'number'));
}

/** What all probes say at about a time, spread over their interval. */
export function roundOf(probes: readonly SimulatedProbe[], startMs: number): Observation[] {
  return probes.map(({ topic, valueAt }, index) => {
    const timeMs = startMs + Math.floor((index * everyMs) / probes.length);
    return { source: `mqtt:${topic}`, channel: '', value: valueAt(timeMs), receivedMs: timeMs };
  });
}
