import { dayMs } from '#rules/clock/durations.ts';
import { practicalSalinityFromConductivity } from '#rules/seawater/practical-salinity.ts';
import { type Given, keepersDay } from './keepers-day.ts';
import type { DemoRoom } from './reef-system.ts';
import { type ProbeReading, quietRoom, readProbes, stepRoom } from './room.ts';
import { type Random, seededRandom } from './seeded-random.ts';

/** A reading of the time before the demonstration; salinity stands beside the conductivity it is computed from. */
export type PastReading = ProbeReading & { timeMs: number };

/** Where the invented past goes; both are called in order of time. */
export type HistorySink = {
  readings(batch: readonly PastReading[]): void;
  enter(given: Given): void;
};

/** Of the readings: so many days by the minute, and the days before them each five minutes. */
export type PastSpan = { journalDays: number; readingDays: number };

/** Two weeks of tests and doses carry an estimate of demand and a whole calendar week; two days by the minute carry a day cycle. */
export const usualPast: PastSpan = { journalDays: 14, readingDays: 2 };

const minuteS = 60;

/** Step of the days before: short enough for the keeper's hours and for a probe that is not silent, and five times fewer steps. */
const coarseStepS = 300;

const pastNoiseSeed = 14;

/** Most readings handed over at once. */
const mostInBatch = 1000;

/**
 * The invented past of the room: readings, tests, doses and water changes, all before `nowMs`, from the same water
 * that the demonstration goes on with.
 *
 * @param from  the room as an older past left it; at rest when absent
 * @returns the room as it is at `nowMs`
 */
export function playHistory(
  nowMs: number,
  utcOffsetMinutes: number,
  random: Random,
  sink: HistorySink,
  past: PastSpan = usualPast,
  from?: DemoRoom,
): DemoRoom {
  const firstReadingMs = nowMs - past.readingDays * dayMs;
  let room = from ?? quietRoom(nowMs - past.journalDays * dayMs, utcOffsetMinutes);
  // Of its own, so that the room lives the same whether its probes are read or not.
  const noise = seededRandom(pastNoiseSeed);
  let batch: PastReading[] = [];
  while (room.timeMs < nowMs) {
    const isFine = room.timeMs >= firstReadingMs;
    batch.push(...pastReadings(room, isFine ? random : noise));
    if (batch.length >= mostInBatch) {
      sink.readings(batch);
      batch = [];
    }
    const stepS = isFine ? minuteS : coarseStepS;
    const untilMs = isFine ? nowMs : firstReadingMs;
    const stepped = stepRoom(room, Math.min(stepS, (untilMs - room.timeMs) / 1000), random);
    const after = keepersDay(room, stepped, random);
    for (const given of after.given) sink.enter(given);
    room = after.room;
  }
  if (batch.length > 0) sink.readings(batch);
  return room;
}

/** The readings of all probes at the room's time, salinity beside the conductivity it is computed from. */
export function pastReadings(room: DemoRoom, random: Random): PastReading[] {
  const { timeMs } = room;
  const read = readProbes(room, random).map((reading): PastReading => ({ ...reading, timeMs }));
  const derived = read.flatMap((reading): PastReading[] => {
    if (reading.metric !== 'conductivity') return [];
    const temperature = read.find(({ system, metric }) => system === reading.system && metric === 'temperature');
    if (temperature === undefined) return [];
    const value = practicalSalinityFromConductivity(reading.value, temperature.value);
    return [{ ...reading, metric: 'salinity', value }];
  });
  return [...read, ...derived];
}
