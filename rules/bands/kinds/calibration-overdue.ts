import { metricFacts } from '../../quantity/metric.ts';
import { isOverdue } from '../../verdicts/overdue.ts';
import { durationText } from '../../words/value-text.ts';
import { conditionOf } from '../condition.ts';
import { type AlarmKind, type Asked, type Judged, untilNext } from './kind.ts';

function ofProbes({ room, system, plan: { metric }, settings }: Asked): Judged[] {
  const { label } = metricFacts[metric];
  // What is derived from a probe shares its id and needs no calibration of its own.
  const probes = system.probes.filter((probe) => probe.metric === metric && (probe.derivedFrom?.length ?? 0) === 0);
  return probes.flatMap(({ id }) => {
    const calibration = room.calibrations.find(({ probe }) => probe === id);
    if (calibration === undefined) return [];
    return {
      idEnd: `/${id}`,
      condition: conditionOf(isOverdue(calibration.timeMs, settings.limit, room.nowMs)),
      raised: () =>
        `${label}: ${id} was last calibrated ${durationText(room.nowMs - calibration.timeMs)} ago; every ${settings.limit} days is usual. Calibrate it with fresh standards.`,
      cleared: () => `${label}: ${id} was calibrated.`,
    };
  });
}

export const calibrationOverdue: AlarmKind<'calibration_overdue', never, 'calibrationOverdue'> = {
  id: 'calibration_overdue',
  means: 'A probe has not been calibrated for longer than planned.',
  firstLook: '[calibrate](calibrating.md) on the next calm day.',
  appliesTo: 'metric',
  hasDeadband: false,
  onStream: {},
  elsewhere: {
    calibrationOverdue: {
      defaults: ({ facts: { calibrateEveryDays } }) =>
        calibrateEveryDays === undefined ? undefined : { ...untilNext, priority: 'low', limit: calibrateEveryDays },
      judge: { each: 'hour', of: ofProbes },
    },
  },
};
