import { hourMs } from '../../clock/durations.ts';
import { probeCheck } from '../../words/first-checks.ts';
import type { Condition } from '../condition.ts';
import { emptyFailingShare, failingShareCondition, kindOfFailure } from '../failing-share.ts';
import { type AlarmKind, probePriority, type SeenReading } from './kind.ts';

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

function judgeFailing({
  stream: { series },
  settings,
  quality,
  elapsedMs,
  isKnown,
}: SeenReading): Condition | undefined {
  // What fails altogether is told as that, and must not be told again as a share when it is over.
  if (series.alarms[slotOfImpossible]?.isLatched === true) {
    delete series.failing;
    return undefined;
  }
  const failedRaw = quality.flag === 'fail' ? quality.raw : null;
  if (failedRaw === null && series.failing === undefined) return isKnown ? 'normal' : undefined;
  series.failing ??= emptyFailingShare();
  const { limit, deadband } = settings;
  const condition = failingShareCondition(series.failing, failedRaw, elapsedMs, limit, deadband);
  if (series.failing.share < negligibleShare) delete series.failing;
  return condition;
}

/** Below this it is no longer kept. */
const negligibleShare = 1e-5;
const slotOfImpossible = 8;

export const impossibleValue: AlarmKind<'impossible_value', 'impossible' | 'failing', never> = {
  id: 'impossible_value',
  means:
    'Most readings of the last minutes are impossible; with `/often` in its id, a share of those of the last hours failed.',
  firstLook: 'cable and plug; a probe out of the water; a bubble in the cell.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    impossible: {
      slot: slotOfImpossible,
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
        return `${name}: most readings of the last minutes are impossible.${last} ${probeCheck(metric)}`;
      },
      returned: ({ name, valueAfter }) => `${name} reads plausibly again${valueAfter}.`,
    },
    failing: {
      slot: 10,
      idEnd: '/often',
      // A twentieth of six hours' readings raises it: a sound cable loses none in a week. common practice, no published source
      defaults: ({ band }) => ({ priority: probePriority(band), limit: 0.05, deadband: 0.03, offDelayMs: hourMs }),
      judge: { each: 'reading', condition: judgeFailing },
      hiddenBy: { by: ['impossible', 'flat', 'silent'], forMs: 30 * 60_000 },
      raised({ name, metric, stream: { series } }) {
        const { share = 0, lastRaw = null } = series.failing ?? {};
        const came = lastRaw === null ? '' : ` (the last was ${lastRaw})`;
        const often = Math.max(1, Math.round(100 * share));
        return `${name}: ${often} % of the readings of the last hours failed${came}: ${kindOfFailure(metric, lastRaw)}. The readings between are still watched.`;
      },
      returned: ({ name, valueAfter }) => `${name} reads plausibly again${valueAfter}.`,
    },
  },
  elsewhere: {},
};
