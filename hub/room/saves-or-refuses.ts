import type { Commit, Store } from '#adapters/ports/store.ts';

/**
 * The store for whatever a person is answered about: what cannot be saved is refused and not taken into a memory that a
 * restart empties. Rules and notices use the store as it is: they watch in any case.
 *
 * @param refuses  `entries` lets documents pass, of which the hub makes some by itself
 */
export function savesOrRefuses(store: Store, refuses: 'entries' | 'all'): Store {
  const { whyUnsaved } = store;
  if (whyUnsaved === undefined) return store;
  return {
    ...store,
    commit(commit: Commit) {
      if (refuses === 'all' || (commit.entries?.length ?? 0) > 0) throw new Error(whyUnsaved);
      return store.commit(commit);
    },
    rewrite() {
      throw new Error(whyUnsaved);
    },
  };
}
