import type { Commit, Store } from '#adapters/ports/store.ts';
import { type NoticeState, restoredNoticeState } from '../notices/notice-state.ts';
import { type DocumentsDue, nextEdition } from './rules-memory.ts';

const documentName = 'notices-state';
const changesName = 'notices-since';

/** So old may become in the store what changes by itself: the time of the last step, and for how long an alarm stands. */
const quietForMs = 15 * 60_000;

export type NoticesMemory = {
  restored(): NoticeState;
  /** What is to be stored with what has been decided. */
  of(state: NoticeState, nowMs: number): Omit<DocumentsDue, 'isUrgent'>;
  /** Nothing while it says no more than what is stored. */
  due(state: NoticeState, nowMs: number): Omit<DocumentsDue, 'isUrgent'>;
};

type Heard = NoticeState['heard'];
/** As it is stored: the number of the writing, by which what has changed since names it. */
type Whole = NoticeState & { edition?: number };
/** All but what was heard of alarms before that edition: there may be thousands. */
type Changes = { after: number; state: NoticeState };

/** What the notices remember, in the store: a whole now and then, and what has changed since with each decision. */
export function createNoticesMemory(store: Pick<Store, 'document'>): NoticesMemory {
  /** As it was stored last; a state is never changed, only replaced, and so is each thing that was heard. */
  let last: NoticeState | undefined;
  let whole: { edition: number; heard: Heard } | undefined;
  let writtenMs = Number.NEGATIVE_INFINITY;

  function documentsDue(state: NoticeState, nowMs: number, isWhole: boolean): Omit<DocumentsDue, 'isUrgent'> {
    const changes = isWhole ? undefined : changesOf(state);
    const edition = nextEdition(whole?.edition, nowMs);
    return {
      documents: [
        changes === undefined ? document(documentName, { ...state, edition }) : document(changesName, changes),
      ],
      stored() {
        last = state;
        writtenMs = nowMs;
        if (changes === undefined) whole = { edition, heard: state.heard };
      },
    };
  }

  /** Undefined where only the whole tells it. */
  function changesOf(state: NoticeState): Changes | undefined {
    if (whole === undefined) return undefined;
    const before = whole.heard;
    if (Object.keys(before).some((alarm) => state.heard[alarm] === undefined)) return undefined;
    const heard = Object.fromEntries(Object.entries(state.heard).filter(([alarm, each]) => before[alarm] !== each));
    return { after: whole.edition, state: { ...state, heard } };
  }

  function restored(): NoticeState {
    const text = store.document(documentName);
    const { edition, ...state } = restoredNoticeState(text) as Whole;
    if (edition === undefined) return state;
    whole = { edition, heard: state.heard };
    const changes = changesAfter(edition, store.document(changesName));
    return changes === undefined ? state : { ...changes, heard: { ...state.heard, ...changes.heard } };
  }

  return {
    restored,
    of: (state, nowMs) => documentsDue(state, nowMs, false),
    due(state, nowMs) {
      const isYoung = Math.abs(nowMs - writtenMs) < quietForMs;
      return isYoung && last !== undefined && decided(state) === decided(last)
        ? { documents: [], stored() {} }
        : documentsDue(state, nowMs, true);
    },
  };
}

function document(name: string, content: Whole | Changes): NonNullable<Commit['documents']>[number] {
  return { name, body: JSON.stringify(content) };
}

/** Undefined also for those of another edition, and for what cannot be read. */
function changesAfter(edition: number, text: string | undefined): NoticeState | undefined {
  if (text === undefined) return undefined;
  try {
    const { after, state } = JSON.parse(text) as Partial<Changes>;
    return after === edition ? restoredNoticeState(JSON.stringify(state)) : undefined;
  } catch {
    return undefined;
  }
}

/** All but what is made again from the alarms that stand, with the value and the minutes of now (`reconcile.ts`). */
function decided(state: NoticeState): string {
  return JSON.stringify({ ...state, nowMs: null, open: state.open.map((notice) => ({ ...notice, text: '' })) });
}
