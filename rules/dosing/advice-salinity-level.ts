import type { Band, KeepersUnits } from '../bands/watched-room.ts';
import { dayMs, hourMs } from '../clock/durations.ts';
import { salinityChangeText, salinityText } from './salinity-text.ts';

/** What a salinity probe says, seen over hours and not by its last reading. */
export type SalinityProbe = {
  /** Robust level over the last hours, and the standard deviation that its scatter gives it. */
  level: number;
  scatterSd: number;
  /** The newest reading alone; absent where it is not to be trusted. */
  newest?: number;
  /** Change a day over the last day with its 95 % interval; absent when too little is known of it. */
  perDay?: { low95: number; middle: number; high95: number };
  /** Of the newest reading. */
  ageMs: number;
  isSuspect: boolean;
  /** Where the probe stood when the last test was made. */
  atLastTest?: number;
  /** Of the temperature that turns its conductivity into salinity; absent for a probe that needs none. */
  temperatureAgeMs?: number;
};

export type SalinityAdviceInput = {
  system: { volumeL: number; band: Band };
  probe?: SalinityProbe;
  /** By refractometer, hydrometer or a meter held in by hand. */
  lastTest?: { timeMs: number; value: number; sd?: number };
  /** What the salts dosed add a day once the corals have used their share. */
  driftPerDay: number;
  /** What the advice followed now changes a day, so that its success is not taken for a fault. */
  advisedPerDay?: number;
  /** A level sensor says that water is missing. */
  isWaterLow?: boolean;
  /** In which unit it is put into words. */
  units?: KeepersUnits;
  nowMs: number;
};

/** Spread of instruments that are looked after. @source common practice, no published source */
export const usualProbeSd = 0.3;
export const usualTestSd = 0.5;
/** A reading or a test older than this does not say where the salinity is now. */
export const probeGoodForMs = 2 * hourMs;
export const testGoodForMs = 14 * dayMs;
/** What salinity may have wandered since an old test, for each square root of a day, where no probe followed it. */
const wanderSd = 0.15;

export type SalinityLevel = { level: number; sd: number; lines: string[] };

export type CarriedTest = { value: number; sd: number };

/** A test as it stands for now: moved by what the probe moved since, or less sure with age. Undefined when too old. */
export function carriedTest({ lastTest, probe, nowMs }: SalinityAdviceInput): CarriedTest | undefined {
  if (lastTest === undefined || nowMs - lastTest.timeMs > testGoodForMs) return undefined;
  const sd = lastTest.sd ?? usualTestSd;
  if (probe?.atLastTest !== undefined && isFresh(probe))
    return { value: lastTest.value + probe.level - probe.atLastTest, sd };
  const days = Math.max(0, nowMs - lastTest.timeMs) / dayMs;
  return { value: lastTest.value, sd: Math.hypot(sd, wanderSd * Math.sqrt(days)) };
}

export function isFresh(probe: SalinityProbe): boolean {
  return probe.ageMs <= probeGoodForMs;
}

/** Standard deviation of the probe's level: its scatter, and what a calibration leaves. */
export function probeSd(probe: SalinityProbe): number {
  return Math.hypot(probe.scatterSd, usualProbeSd);
}

/** Probe and test weighted by their uncertainty; undefined when neither says anything of now. */
export function salinityLevel(input: SalinityAdviceInput): SalinityLevel | undefined {
  const { probe } = input;
  const test = carriedTest(input);
  const parts: { name: string; value: number; sd: number }[] = [];
  if (probe !== undefined && isFresh(probe))
    parts.push({ name: 'Probe over the last hours', value: probe.level, sd: probeSd(probe) });
  if (test !== undefined) parts.push({ name: 'Last test, carried to now', ...test });
  if (parts.length === 0) return undefined;
  const total = parts.reduce((sum, { sd }) => sum + 1 / sd ** 2, 0);
  return {
    level: parts.reduce((sum, { value, sd }) => sum + value / sd ** 2, 0) / total,
    sd: Math.sqrt(1 / total),
    lines: parts.map(
      ({ name, value, sd }) =>
        `${name}: ${salinityText(value, 2, input.units)} ± ${salinityChangeText(1.96 * sd, 2, input.units)}, ${Math.round(100 / sd ** 2 / total)} % of the level.`,
    ),
  };
}
