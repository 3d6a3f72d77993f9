import type { ClockMove } from '../clock/clock-move.ts';
import type { Metric } from '../quantity/metric.ts';
import type { AlarmEvent } from './alarm-event.ts';
import type { Comings } from './comings.ts';
import type { Priority, RuleKind } from './watched-room.ts';

export type AlarmSubject = {
  id: string;
  system: string;
  metric: Metric | '';
  rule: RuleKind | 'edge_fault';
  priority: Priority;
};

/** What is remembered of one alarm: plain data, stored and moved with the clock. `life-cycle.ts` changes it. */
export type AlarmRecord = AlarmSubject & {
  /** While the on-delay runs, and of the present condition once it is latched. UTC milliseconds. */
  abnormalSinceMs: number | null;
  /** While the off-delay runs. */
  normalSinceMs: number | null;
  /** Last evidence that said anything about the condition. */
  seenMs: number | null;
  /** The condition holds: its on-delay has passed and its off-delay has not. */
  isLatched: boolean;
  /** When it last stopped holding. */
  endedMs: number | null;
  /** A `raised` was told and no `cleared` since. */
  isTold: boolean;
  isAcknowledged: boolean;
  acknowledgedMs: number | null;
  /** Cleared before anybody acknowledged it. */
  isReturned: boolean;
  isSuppressed: boolean;
  shelvedUntilMs: number | null;
  /** Times of the last three latchings, oldest first. */
  latchings: number[];
  /** Absent before the first, and in what was stored by a hub that did not count them. */
  comings?: Comings;
  occurrence: number;
  /** States told in this occurrence: a second of the same kind needs a new number. */
  told: AlarmEvent['state'][];
  value: number | null;
  message: string;
};

/** Of what has never held: nothing seen, nothing told. */
export function newAlarm(subject: AlarmSubject): AlarmRecord {
  return {
    id: subject.id,
    system: subject.system,
    metric: subject.metric,
    rule: subject.rule,
    priority: subject.priority,
    abnormalSinceMs: null,
    normalSinceMs: null,
    seenMs: null,
    isLatched: false,
    endedMs: null,
    isTold: false,
    isAcknowledged: false,
    acknowledgedMs: null,
    isReturned: false,
    isSuppressed: false,
    shelvedUntilMs: null,
    latchings: [],
    occurrence: 0,
    told: [],
    value: null,
    message: '',
  };
}

/** The clock was put right. */
export function moveAlarm(record: AlarmRecord, { noted, set }: ClockMove): void {
  record.abnormalSinceMs = noted(record.abnormalSinceMs);
  record.normalSinceMs = noted(record.normalSinceMs);
  record.seenMs = noted(record.seenMs);
  record.endedMs = noted(record.endedMs);
  record.acknowledgedMs = noted(record.acknowledgedMs);
  record.latchings = record.latchings.map(noted);
  if (record.comings !== undefined) record.comings.sinceMs = noted(record.comings.sinceMs);
  record.shelvedUntilMs = set(record.shelvedUntilMs);
}
