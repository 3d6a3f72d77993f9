import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { Commit, JournalKind } from '#adapters/ports/store.ts';
import { adaptersForVerbs } from '#hub/compose.ts';

type Opener = Pick<HubAdapters, 'openStore'>;

/** The real store of a process that dies when such an entry is on disk and before anybody has heard of it: nothing works after that. */
export function dyingAfter(what: JournalKind): Opener {
  return dyingAt((commit) => (commit.entries?.some(({ kind }) => kind === what) === true ? 'after' : undefined));
}

/**
 * The real store of a process that dies before or after a commit.
 *
 * @param when  asked of each commit
 * @param on    opens the real store
 */
export function dyingAt(
  when: (commit: Commit) => 'before' | 'after' | undefined,
  on: Opener = adaptersForVerbs.hub,
): Opener {
  let isDead = false;
  return {
    openStore(choice) {
      const real = on.openStore(choice);
      return {
        ...real,
        commit(commit) {
          const dies = isDead ? 'before' : when(commit);
          isDead = dies !== undefined;
          if (dies === 'before') throw new Error('the process is gone');
          const ids = real.commit(commit);
          if (dies === 'after') throw new Error('the process is gone');
          return ids;
        },
        keepSoon(documents) {
          if (!isDead) real.keepSoon(documents);
        },
      };
    },
  };
}
