import { planOf } from '#rules/bands/room-rules.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { isContainerLow } from '#rules/verdicts/container-low.ts';
import { isOverdue } from '#rules/verdicts/overdue.ts';
import { containersOf } from '../../../judgement/estimate/containers.ts';
import type { ToDo } from '../../../model/answers/review-schema.ts';
import { tellingName } from '../../../model/config/probe-name.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import { inSentence } from './figure-words.ts';
import { lastCalibrationMs } from './probes-of-week.ts';
import type { ReviewSpan } from './review-span.ts';
import { placeOf, type ToDoSources } from './to-do-sources.ts';

export function testsOverdue({ rules, tests }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  return tests.flatMap(({ system: id, metric, label, lastMs }): ToDo[] => {
    const every = planOf(rules, id, metric)?.other.testOverdue?.limit;
    if (id !== system.id || every === undefined) return [];
    // Nobody who never tests an analyte is told to, unless the configuration says that it shall be tested.
    const isAsked = system.test_every_days[metric] !== undefined;
    if (!(isOverdue(lastMs ?? undefined, every, span.asOfMs) ?? isAsked)) return [];
    const how = lastMs === null ? 'never tested' : `last tested ${daysWords((span.asOfMs - lastMs) / dayMs)} ago`;
    return [
      {
        kind: 'test',
        ...placeOf(system),
        what: `Test ${inSentence(label)}`,
        short: `test ${inSentence(label)}`,
        reason: `${how}; a test is due every ${daysWords(every)}`,
      },
    ];
  });
}

export function calibrationsOverdue(
  { config, rules, calibrations }: ToDoSources,
  system: SystemConfig,
  span: ReviewSpan,
): ToDo[] {
  return config.probes.flatMap((probe): ToDo[] => {
    const every = planOf(rules, system.id, probe.metric)?.other.calibrationOverdue?.limit;
    const lastMs = lastCalibrationMs(calibrations, probe, span.asOfMs);
    if (probe.system !== system.id || every === undefined || lastMs === undefined) return [];
    if (isOverdue(lastMs, every, span.asOfMs) !== true) return [];
    const label = inSentence(metricFacts[probe.metric].label);
    const name = tellingName(config, system.id, probe.id);
    return [
      {
        kind: 'calibration',
        ...placeOf(system),
        what: `Calibrate the ${label} probe${name === undefined ? '' : ` ${name}`}`,
        short: `calibrate the ${label} probe`,
        reason: `last calibrated ${daysWords((span.asOfMs - lastMs) / dayMs)} ago; every ${daysWords(every)} is usual`,
      },
    ];
  });
}

export function containersLow({ entriesOf, rules }: ToDoSources, system: SystemConfig, span: ReviewSpan): ToDo[] {
  const low = rules.ofSystems.get(system.id)?.containerLow;
  return containersOf(system, entriesOf(system.id), span.asOfMs).flatMap(({ stock, leftMl, daysLeft }): ToDo[] => {
    if (daysLeft === null || low === undefined || !isContainerLow(daysLeft, low.limit)) return [];
    const name = system.stocks.find(({ id }) => id === stock)?.name ?? stock;
    return [
      {
        kind: 'container',
        ...placeOf(system),
        what: `Fill the container of ${name}`,
        short: `fill ${name}`,
        reason: `${Math.round(leftMl)} mL left: ${daysWords(daysLeft)} at last week’s rate`,
      },
    ];
  });
}

function daysWords(days: number): string {
  const rounded = days < 10 ? Number(days.toFixed(1)) : Math.round(days);
  return rounded === 1 ? '1 day' : `${rounded} days`;
}
