import { metricFacts } from '../../quantity/metric.ts';
import { isOverdue } from '../../verdicts/overdue.ts';
import { durationText } from '../../words/value-text.ts';
import { conditionOf } from '../condition.ts';
import type { RoomIndex } from '../room-index.ts';
import type { MetricPlan } from '../room-rules.ts';
import { type AlarmKind, type Asked, type Judged, untilNext } from './kind.ts';

function lastReadingMs(room: RoomIndex, { system, metric }: MetricPlan): number | undefined {
  const streams = [...(room.byName.get(metric)?.get(system)?.values() ?? [])];
  return newest(streams.map(({ series }) => (series.goodValue === null ? undefined : series.goodMs)));
}

function newest(times: readonly (number | undefined)[]): number | undefined {
  const known = times.filter((timeMs) => timeMs !== undefined);
  return known.length === 0 ? undefined : Math.max(...known);
}

function ofAnalyte({ room, system, plan, settings }: Asked): Judged[] {
  const { label } = metricFacts[plan.metric];
  const testedMs = room.analytes.get(`${system.id}/${plan.metric}`)?.tests.at(-1)?.timeMs;
  // Nobody who never tests an analyte is told to, unless the configuration says that it shall be tested.
  const isAsked = system.testEveryDays?.[plan.metric] !== undefined;
  const startedMs = isAsked ? (room.state.startedMs ?? undefined) : undefined;
  const isDue = isOverdue(newest([testedMs, lastReadingMs(room, plan)]) ?? startedMs, settings.limit, room.nowMs);
  const every = `a test is due every ${settings.limit === 1 ? 'day' : `${settings.limit} days`}.`;
  return [
    {
      condition: conditionOf(isDue),
      raised: () =>
        testedMs === undefined
          ? `${label} has not been tested; ${every}`
          : `${label} was last tested ${durationText(room.nowMs - testedMs)} ago; ${every}`,
      cleared: () => `${label} was tested.`,
    },
  ];
}

export const testOverdue: AlarmKind<'test_overdue', never, 'testOverdue'> = {
  id: 'test_overdue',
  means: 'A test has not been done for longer than planned.',
  firstLook: 'do it. Advice holds back on old tests.',
  appliesTo: 'metric',
  hasDeadband: false,
  onStream: {},
  elsewhere: {
    testOverdue: {
      defaults({ metric, band, facts, system }) {
        const days = system.testEveryDays?.[metric] ?? (band === undefined ? undefined : facts.testEveryDays);
        return days === undefined ? undefined : { ...untilNext, priority: 'low', limit: days };
      },
      judge: { each: 'hour', of: ofAnalyte },
    },
  },
};
