import type { Store } from '#adapters/ports/store.ts';
import { type NoticeState, restoredNoticeState } from '../notices/notice-state.ts';
import { packedText, unpackedText } from './packed-text.ts';
import type { Keepsake } from './rules-memory.ts';

const documentName = 'notices-state';

/** So old may become in the store what changes by itself: the time of the last step, and for how long an alarm stands. */
const quietForMs = 15 * 60_000;

export type NoticesMemory = {
  restored(): NoticeState;
  of(state: NoticeState, nowMs: number): Omit<Keepsake, 'isUrgent'>;
  /** Nothing while it says no more than what is stored. */
  due(state: NoticeState, nowMs: number): Omit<Keepsake, 'isUrgent'>;
};

/** What the notices remember, in the store. */
export function createNoticesMemory(store: Pick<Store, 'document'>): NoticesMemory {
  /** As it was stored last; a state is never changed, only replaced. */
  let last: NoticeState | undefined;
  let writtenMs = Number.NEGATIVE_INFINITY;

  function of(state: NoticeState, nowMs: number): Omit<Keepsake, 'isUrgent'> {
    return {
      documents: [{ name: documentName, body: packedText(JSON.stringify(state)) }],
      stored() {
        last = state;
        writtenMs = nowMs;
      },
    };
  }

  return {
    restored: () => restoredNoticeState(unpackedDocument(store.document(documentName))),
    of,
    due(state, nowMs) {
      const isYoung = Math.abs(nowMs - writtenMs) < quietForMs;
      return isYoung && last !== undefined && decided(state) === decided(last)
        ? { documents: [], stored() {} }
        : of(state, nowMs);
    },
  };
}

/** All but what is made again from the alarms that stand, with the value and the minutes of now (`reconcile.ts`). */
function decided(state: NoticeState): string {
  return JSON.stringify({ ...state, nowMs: null, open: state.open.map((notice) => ({ ...notice, text: '' })) });
}

/** Undefined as well for what cannot be unpacked: the notices then begin again and tell again what stands. */
function unpackedDocument(body: string | undefined): string | undefined {
  try {
    return body === undefined ? undefined : unpackedText(body);
  } catch {
    return undefined;
  }
}
