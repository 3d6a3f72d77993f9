import { dayMs } from '../clock/durations.ts';
import { atSalinity, commonSalinity } from '../seawater/at-salinity.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { AdviceInput } from './advice-types.ts';

/** A smaller fall of salinity is what probes and refractometers differ by from day to day. common practice, no published source */
const leastFall = 0.4;
/** Tests of the last weeks are compared: what the tank was longer ago, its keeper has dosed for since. */
const comparedDays = 21;
const fewestBefore = 2;

export type Dilution = {
  salinityBefore: number;
  salinityNow: number;
  /** What the fall of salinity took from the level, in the analyte's unit. */
  fallenBy: number;
  /** The level of now and the mean of the tests before, both at salinity 35. */
  levelAt35: number;
  before35: number;
};

/**
 * How far the water was thinned since the tests before; undefined where it was not, where nobody measured it, or where the salinity
 * was too high before: then the thinner water is what was wanted.
 */
export function dilutionOf(
  { lastTests, system, nowMs }: Pick<AdviceInput, 'lastTests' | 'system' | 'nowMs'>,
  { level }: Pick<DemandEstimate, 'level'>,
): Dilution | undefined {
  const known = lastTests.flatMap(({ timeMs, value, salinity, isSuspect }) =>
    salinity === undefined || isSuspect === true || nowMs - timeMs > comparedDays * dayMs ? [] : [{ value, salinity }],
  );
  const salinityNow = known.at(-1)?.salinity;
  if (salinityNow === undefined) return undefined;
  const before = known.filter(({ salinity }) => salinity - salinityNow >= leastFall);
  if (before.length < fewestBefore) return undefined;
  const mean = (of: (test: (typeof before)[number]) => number): number =>
    before.reduce((sum, test) => sum + of(test), 0) / before.length;
  const { salinity: band } = system.otherBands;
  const wanted = band === undefined ? commonSalinity : (band.low + band.high) / 2;
  const salinityBefore = Math.min(
    wanted,
    mean(({ salinity }) => salinity),
  );
  if (salinityBefore - salinityNow < leastFall) return undefined;
  return {
    salinityBefore,
    salinityNow,
    fallenBy: atSalinity(level, salinityNow, salinityBefore) - level,
    levelAt35: atSalinity(level, salinityNow),
    before35: mean(({ value, salinity }) => atSalinity(value, salinity)),
  };
}
