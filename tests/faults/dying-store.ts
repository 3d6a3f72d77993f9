import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { JournalKind } from '#adapters/ports/store.ts';
import { adaptersForVerbs } from '#hub/compose.ts';

/** The real store of a process that dies when such an entry is on disk and before anybody has heard of it: nothing works after that. */
export function dyingAfter(what: JournalKind): Pick<HubAdapters, 'openStore'> {
  let isDead = false;
  return {
    openStore(choice) {
      const real = adaptersForVerbs.hub.openStore(choice);
      return {
        ...real,
        commit(commit) {
          if (isDead) throw new Error('the process is gone');
          const ids = real.commit(commit);
          isDead = commit.entries?.some(({ kind }) => kind === what) === true;
          if (isDead) throw new Error('the process is gone');
          return ids;
        },
        keepSoon(documents) {
          if (!isDead) real.keepSoon(documents);
        },
      };
    },
  };
}
