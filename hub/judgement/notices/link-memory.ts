import type { Store } from '#adapters/ports/store.ts';

const documentName = 'link';
const settled = '{"is":"settled"}';
const open = '{"is":"open"}';

export type LinkMemory = {
  /** Before each attempt to reach the broker. On disk at return. */
  leaves(): void;
  /** The broker is there. @param hasForgotten  it kept nothing from before */
  found(hasForgotten: boolean): void;
};

/**
 * Whether what a broker lost was said again. A broker says once that it knows nothing: the session made by that connection is
 * there at the next one, also for a hub that died before it had stored what is to be said.
 *
 * Is: a hub that died between the attempt and the end of its repeats says them at its next link. Is not: able to tell a broker
 * that lost nothing in that time from one that did; it then hears the same again, marked as a repeat.
 */
export function createLinkMemory(store: Pick<Store, 'commit' | 'document'>, sayAgain: () => void): LinkMemory {
  const found = store.document(documentName);
  let stored = found ?? settled;
  let isOwed = stored !== settled;

  function keep(body: string): void {
    if (stored === body) return;
    store.commit({ documents: [{ name: documentName, body }] });
    stored = body;
  }

  return {
    leaves: () => keep(open),
    found(hasForgotten) {
      isOwed ||= hasForgotten;
      if (isOwed) sayAgain();
      isOwed = false;
      // After what is said again is stored: a kill between the two must repeat, not forget.
      keep(settled);
    },
  };
}
