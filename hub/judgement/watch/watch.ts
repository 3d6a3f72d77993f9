import type { Commit, OutboxItem, Store } from '#adapters/ports/store.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import {
  alarmsBack,
  alarmsOf,
  moveRoom,
  type RoomRules,
  type RoomState,
  type StandingAlarm,
  stepRoom,
} from '#rules/bands/room.ts';
import { type Silence, silenceOf } from '#rules/bands/silence-of.ts';
import type { ClockMove } from '#rules/clock/clock-move.ts';
import type { Series } from '#rules/quality/reading.ts';
import { written } from '../../model/journal/journal.ts';
import { stepNotices } from '../notices/notice-pipeline.ts';
import type { NoticeSettings } from '../notices/notice-settings.ts';
import { copyOf, moveNotices, type Remark } from '../notices/notice-state.ts';
import { owing } from '../notices/owed.ts';
import { reconciled } from '../notices/reconcile.ts';
import type { NoticeMessage } from '../notices/stage.ts';
import { createNoticesMemory } from './notices-memory.ts';
import { createRulesMemory, type DocumentsDue, type JudgedUpTo } from './rules-memory.ts';

/** At most so many events and messages wait for a store that refuses them; they have gone to the phone already. */
const mostHeld = 1000;

export type WatchEnds = {
  /** How an alarm stands after an event, for the outbox, on every way. */
  stateItems(event: AlarmEvent): OutboxItem[];
  /** A line on its way to a phone, for the outbox, on every way. */
  lineItems(message: NoticeMessage): OutboxItem[];
  /** What an alarm is about, for the phone: its system by name and its message. */
  textOf(alarm: Pick<StandingAlarm, 'system' | 'message' | 'metric' | 'value'>): string;
  /** Some way to people is there. */
  canReach(): boolean;
  /** Something waits for this time: `offer` or `look` must be called then. */
  wakeAt(timeMs: number): void;
  /** Does the work after what has arrived by now: alarms that come together wait for the disk once. */
  soon(work: () => void): void;
  /** After all is on disk. */
  announced(): void;
  /** At the start: what the rules remembered under this name cannot be used, and they begin again there. */
  unreadable?(name: string): void;
  /** When the store refuses: they go to the broker straight from memory. What could not be sent is given to `lost`. */
  unstored(items: readonly OutboxItem[], error: Error, lost: (item: OutboxItem) => void): void;
};

/** Entries of one system as evidence, and the last entry of the journal among them. */
export type EnteredEvidence = { system: string; evidence: readonly Evidence[]; lastEntry: number };

export type Watch = {
  offer(evidence: Evidence, nowMs: number): void;
  /** How far in the journal the rules of a system have judged; undefined where they remember nothing of it. */
  judgedOf(system: string): JudgedUpTo | undefined;
  /**
   * Lets what people entered for a system move its rules: state, events, notices and how far in the journal that reaches are
   * stored together.
   */
  judge(entered: EnteredEvidence, nowMs: number): void;
  /** Says what is due by now: its time has come, or the broker is back. */
  look(nowMs: number): void;
  /** What was said since then was lost on its way: what nobody has acknowledged of it is said again. */
  owe(sinceMs: number, nowMs: number): void;
  /** A line of the hub itself, said once. */
  remark(remark: Pick<Remark, 'key' | 'priority' | 'line'>, nowMs: number): void;
  standing(nowMs: number): StandingAlarm[];
  /** Whether a stream is silent, and how long it may be. */
  silence(series: Series, nowMs: number): Silence;
  /** What is not judged now because somebody works on it. */
  maintenance(nowMs: number): RoomState['maintenance'];
  /** Once a minute: hands over what is due of what rules and notices remember, to be stored with the next readings. */
  keep(nowMs: number): void;
  /** The same with all of it, on disk at return: the end of this run. */
  keepAll(nowMs: number): void;
  /** Other rules and other ways of telling from now on; what stands and what waits is kept. */
  use(rules: RoomRules, notices: NoticeSettings, nowMs: number): void;
  /** The clock has moved: what is remembered by time moves with it. Nothing is stored. */
  moveTimes(move: ClockMove): void;
};

/**
 * The rules at work: evidence in, events stored with the state that caused them and the notices that follow, in one
 * transaction. Stored before it is announced: a crash between the two must repeat, not forget.
 */
export function createWatch(
  store: Pick<Store, 'commit' | 'keepSoon' | 'document'>,
  firstRules: RoomRules,
  firstNotices: NoticeSettings,
  ends: WatchEnds,
): Watch {
  let rules = firstRules;
  let notices = firstNotices;
  const rulesMemory = createRulesMemory(store, firstRules.systems.keys(), ends.unreadable);
  const noticesMemory = createNoticesMemory(store);
  let state: RoomState = rulesMemory.restored();
  let noticeState = noticesMemory.restored();
  let nextMs = Number.NEGATIVE_INFINITY;
  let heldEvents: AlarmEvent[] = [];
  let heldItems: OutboxItem[] = [];
  /** On their way to the store, with the time of the last of them. */
  let fresh: { events: AlarmEvent[]; items: OutboxItem[]; nowMs: number } | undefined;

  function entriesOf(events: readonly AlarmEvent[]): NonNullable<Commit['entries']> {
    return events.map((event) =>
      written({
        kind: 'alarm',
        timeMs: event.timeMs,
        recordedMs: event.timeMs,
        system: event.system,
        body: { ...event },
        key: `alarm:${event.alarm}#${event.occurrence}#${event.state}#${event.timeMs}`,
      }),
    );
  }

  /** On disk at return. */
  function commit(kept: DocumentsDue, events: readonly AlarmEvent[], outbox: OutboxItem[], nowMs: number): void {
    const told = noticesMemory.of(noticeState, nowMs);
    store.commit({ entries: entriesOf(events), outbox, documents: [...kept.documents, ...told.documents] });
    kept.stored();
    told.stored();
  }

  function settle(events: readonly AlarmEvent[], nowMs: number): void {
    const news = events.map((event) => ({ event, text: ends.textOf(event) }));
    const step = stepNotices(notices, noticeState, {
      news,
      nowMs,
      canReach: ends.canReach(),
      back: alarmsBack(state),
    });
    noticeState = step.state;
    nextMs = step.nextMs;
    ends.wakeAt(nextMs);
    // They go out in this order, and what calls a person goes first.
    const items = [...step.messages.flatMap(ends.lineItems), ...events.flatMap(ends.stateItems)];
    if (items.length === 0) return;
    const before = fresh;
    fresh = { events: [...(before?.events ?? []), ...events], items: [...(before?.items ?? []), ...items], nowMs };
    if (before === undefined) ends.soon(writeFresh);
  }

  /** What the rules found since, if it has not gone to the disk with something else. */
  function writeFresh(): void {
    if (fresh !== undefined) write(fresh.nowMs);
  }

  function write(nowMs: number): void {
    const { events, items } = fresh ?? { events: [], items: [] };
    fresh = undefined;
    const allEvents = [...heldEvents, ...events];
    const systems = new Set(allEvents.map(({ system }) => system));
    try {
      commit(rulesMemory.of(state, systems, nowMs), allEvents, [...heldItems, ...items], nowMs);
      heldEvents = [];
      heldItems = [];
      ends.announced();
    } catch (error) {
      rulesMemory.stale();
      heldEvents = allEvents.slice(-mostHeld);
      ends.unstored(items, error instanceof Error ? error : new Error(String(error)), (item) => {
        heldItems = [...heldItems, item].slice(-mostHeld);
      });
    }
  }

  /** @returns whether it remains to be stored what rules and notices remember */
  function settleAll(nowMs: number): boolean {
    noticeState = reconciled(noticeState, alarmsOf(rules, state, nowMs), ends.textOf, nowMs);
    settle([], nowMs);
    if (fresh === undefined && heldEvents.length + heldItems.length === 0) return true;
    write(nowMs);
    return false;
  }

  function keep(nowMs: number): void {
    if (!settleAll(nowMs)) return;
    const kept = rulesMemory.due(state, nowMs);
    if (kept.isUrgent) {
      commit(kept, [], [], nowMs);
      return;
    }
    const told = noticesMemory.due(noticeState, nowMs);
    store.keepSoon([...kept.documents, ...told.documents]);
    kept.stored();
    told.stored();
  }

  /** What a person asked for, or is to be told later: it belongs to no one system. */
  function keepNow(nowMs: number): void {
    if (settleAll(nowMs)) commit(rulesMemory.of(state, [], nowMs), [], [], nowMs);
  }

  return {
    offer(evidence, nowMs) {
      const result = stepRoom(rules, state, evidence, nowMs);
      state = result.state;
      const isClockBack = noticeState.nowMs !== null && nowMs < noticeState.nowMs;
      if (result.events.length > 0 || nowMs >= nextMs || isClockBack) settle(result.events, nowMs);
      // A maintenance window tells nothing; what a person asked for is on disk all the same before it is answered.
      if (evidence.is === 'command' && result.events.length === 0) keepNow(nowMs);
      else if (evidence.is !== 'reading' && evidence.is !== 'time') writeFresh();
    },
    judgedOf: (system) => rulesMemory.judgedOf(system),
    judge({ system, evidence, lastEntry }, nowMs) {
      const events: AlarmEvent[] = [];
      for (const each of evidence) {
        const result = stepRoom(rules, state, each, nowMs);
        state = result.state;
        events.push(...result.events);
      }
      rulesMemory.judged(system, lastEntry);
      if (events.length > 0) settle(events, nowMs);
      writeFresh();
    },
    look: (nowMs) => settle([], nowMs),
    owe(sinceMs, nowMs) {
      noticeState = owing(noticeState, sinceMs, nowMs);
      keepNow(nowMs);
    },
    remark({ key, priority, line }, nowMs) {
      const remark = { key, priority, line, system: '', kind: 'hub' as const, sinceMs: nowMs };
      noticeState = {
        ...noticeState,
        remarks: [...noticeState.remarks, { ...remark, isWithheld: false, isForEscalated: false }],
      };
      // It may wait for the end of the quiet hours: not only in memory.
      keepNow(nowMs);
    },
    standing: (nowMs) => alarmsOf(rules, state, nowMs),
    silence: (series, nowMs) => silenceOf(rules, state, series, nowMs),
    maintenance: (nowMs) => state.maintenance.filter(({ untilMs }) => nowMs < untilMs),
    keep,
    keepAll(nowMs) {
      if (settleAll(nowMs)) commit(rulesMemory.all(state, nowMs), [], [], nowMs);
    },
    use(nextRules, nextNotices, nowMs) {
      rules = nextRules;
      notices = nextNotices;
      // What waited for the end of the quiet hours may be due now.
      settle([], nowMs);
    },
    moveTimes(move) {
      moveRoom(state, move);
      noticeState = copyOf(noticeState);
      moveNotices(noticeState, move);
      rulesMemory.stale();
      nextMs = move.noted(nextMs);
      ends.wakeAt(nextMs);
    },
  };
}
