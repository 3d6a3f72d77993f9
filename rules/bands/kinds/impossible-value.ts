import { probeCheck } from '../../words/first-checks.ts';
import type { Condition } from '../condition.ts';
import { type AlarmKind, probePriority } from './kind.ts';

/**
 * A probe whose readings fail their checks or are doubtful. One bad reading is an electrical spike; what counts is the share
 * of bad ones among the last minutes, so that a fault that comes and goes (a bubble, a loose plug) is found as well.
 */

/** Over so long the share is taken: ten minutes of nothing but bad readings make it 63 %. */
const windowMs = 10 * 60_000;
/** However sparse the stream, it takes three bad readings to pass one half. */
const mostWeight = 0.25;
/** Below this the share is as good as none, and the arithmetic can rest. */
const negligible = 0.001;

export type BadShare = { share: number };

export function emptyBadShare(): BadShare {
  return { share: 0 };
}

/**
 * Takes the quality of a reading.
 *
 * @param elapsedMs  since the reading before, 0 or more
 * @param limit     share of bad readings, 0 to 1, above which the probe is not to be trusted
 * @param deadband  how far below the limit it must fall to be trusted again
 */
export function badShareCondition(
  bad: BadShare,
  isBad: boolean,
  elapsedMs: number,
  limit: number,
  deadband: number,
): Condition {
  const weight = Math.min(mostWeight, 1 - Math.exp(-elapsedMs / windowMs));
  bad.share += weight * ((isBad ? 1 : 0) - bad.share);
  if (bad.share < negligible) bad.share = 0;
  if (bad.share > limit) return 'abnormal';
  return bad.share > limit - deadband ? 'deadband' : 'normal';
}

export const impossibleValue: AlarmKind<'impossible_value', 'impossible', never> = {
  id: 'impossible_value',
  means: 'Most readings of the last minutes cannot be true.',
  firstLook: 'cable and plug; a probe out of the water; a bubble in the cell.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    impossible: {
      slot: 8,
      // Half of the last minutes' readings bad raises it, a tenth lets it go.
      defaults: ({ band }) => ({ priority: probePriority(band), limit: 0.5, deadband: 0.4, offDelayMs: windowMs }),
      judge: {
        each: 'reading',
        condition: ({ stream: { series }, settings, isGood, elapsedMs, isKnown }) =>
          !isGood || series.bad.share > 0 || isKnown
            ? badShareCondition(series.bad, !isGood, elapsedMs, settings.limit, settings.deadband)
            : undefined,
      },
      hiddenBy: { by: ['flat'], forMs: 30 * 60_000 },
      raised({ name, value, metric, stream: { series } }) {
        const last = series.goodValue === null ? '' : ` The last good value was ${value}.`;
        return `${name}: most readings of the last minutes cannot be true.${last} ${probeCheck(metric)}`;
      },
      returned: ({ name, valueAfter }) => `${name} gives sound readings again${valueAfter}.`,
    },
  },
  elsewhere: {},
};
