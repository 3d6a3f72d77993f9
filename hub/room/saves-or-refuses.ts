import type { Commit, Store } from '#adapters/ports/store.ts';

/**
 * The store for whatever a person is answered about: what cannot be saved is refused and not taken into a memory that a
 * restart empties. Rules and notices use the store as it is: they watch in any case.
 *
 * @param why  nothing can be saved now; undefined while it can
 * @param refuses  `entries` lets documents pass, of which the hub makes some by itself
 */
export function savesOrRefuses(store: Store, why: () => string | undefined, refuses: 'entries' | 'all'): Store {
  function check(): void {
    const unsaved = why();
    if (unsaved !== undefined) throw new Error(unsaved);
  }
  return {
    ...store,
    commit(commit: Commit) {
      if (refuses === 'all' || (commit.entries?.length ?? 0) > 0) check();
      return store.commit(commit);
    },
    rewrite(...asked) {
      check();
      return store.rewrite(...asked);
    },
  };
}
