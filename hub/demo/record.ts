import { dayMs } from '#rules/clock/durations.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { Fault } from './reef-system.ts';
import { quietRoom, readProbes, stepRoom, withSystem } from './room.ts';
import { gaussian, seededRandom } from './seeded-random.ts';
import { salinityOf } from './water.ts';

export type Recording = {
  days: number;
  /** Between two readings of a probe; 1 or more. */
  everySeconds: number;
  seed: number;
  /** Something that breaks at a time of the recording and, when `untilDay` is given, is mended. */
  fault?: { system: string; kind: Fault; fromDay: number; untilDay?: number };
  /** Of the first reading, UTC milliseconds; a fixed day in 2026 when absent. */
  fromMs?: number;
  utcOffsetMinutes?: number;
};

export const recordingHeader = 'time,system,metric,value';

/** Start of a recording that names none: an arbitrary midnight, fixed so that equal seeds give equal files. */
const usualStartMs = Date.UTC(2026, 0, 5);

/** Scatter of salinity that follows from the noise of a conductivity probe, no unit. */
const salinityNoise = 0.03;

/**
 * Readings of all probes of the simulated room as rows of a recorded CSV (`recordingHeader` first, no line ends), oldest
 * first. Conductivity comes with the salinity of the same water, for a replay whose configuration names no probes.
 *
 * @throws RangeError  for a step below 1 s or no days
 */
export function* recordRoom(recording: Recording): Generator<string, void, undefined> {
  const { days, everySeconds, seed, fault, fromMs = usualStartMs, utcOffsetMinutes = 0 } = recording;
  if (!(everySeconds >= 1) || !(days > 0)) throw new RangeError('everySeconds must be 1 or more and days above 0');
  const random = seededRandom(seed);
  let room = quietRoom(fromMs, utcOffsetMinutes);
  yield recordingHeader;
  const steps = Math.floor((days * 86_400) / everySeconds);
  const dayOf = (step: number) => (step * everySeconds) / 86_400;
  const firstBroken = fault === undefined ? steps : Math.ceil((fault.fromDay * 86_400) / everySeconds);
  const firstMended = fault?.untilDay === undefined ? steps : Math.ceil((fault.untilDay * 86_400) / everySeconds);
  for (let step = 0; step < steps; step += 1) {
    if (fault !== undefined && step === firstBroken) room = withSystem(room, fault.system, { faults: [fault.kind] });
    if (fault !== undefined && step === firstMended) room = withSystem(room, fault.system, { faults: [] });
    const time = new Date(fromMs + dayOf(step) * dayMs).toISOString();
    for (const reading of readProbes(room, random)) yield row(time, reading.system, reading.metric, reading.value);
    for (const { setup, water } of room.systems) {
      const salinity = salinityOf(water) + salinityNoise * gaussian(random);
      yield row(time, setup.id, 'salinity', Number(salinity.toFixed(3)));
    }
    room = stepRoom(room, everySeconds, random);
  }
}

function row(time: string, system: string, metric: Metric, value: number): string {
  return `${time},${system},${metric},${value}`;
}
