import type { OutboxItem, Store } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Kits } from '../../flow/kits/kits.ts';
import type { Config } from '../../model/config/schema.ts';
import type { Ways } from '../notices/notice-items.ts';
import { openingLine } from '../notices/phone-line.ts';
import { disagreeingLots, type LotSaid } from './new-lots.ts';

/** The document of the store that names the lots that the phone was told of. */
const toldDocument = 'lots_told';
/** Without a new test or comparison nothing changes but that a lot grows old. */
const lookAgainMs = 6 * hourMs;

export type LotWatch = {
  /** Lots that disagree and were not held against anything yet: what is to be done about them is to compare them. */
  open(nowMs: number): readonly LotSaid[];
  tick(nowMs: number): void;
};

export type LotWatchParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'document' | 'commit'>;
  kits: Kits;
  ways: Ways;
  /** Something is in the outbox. */
  nudge(): void;
};

/**
 * New lots that disagree, for the list of what to do and for the phone.
 *
 * Is: one line on the phone for a lot and a tank, over any restart; a line of the list until the lot is compared, or is a month old.
 * Is not: a word where the first tests by the lot agree, or none before it tell what was to be expected (`rules/trend/new-lot.ts`).
 */
export function createLotWatch({ config, store, kits, ways, nudge }: LotWatchParts): LotWatch {
  let seenId = 0;
  let lookedMs = Number.NEGATIVE_INFINITY;
  let found: readonly LotSaid[] = [];

  function open(nowMs: number): readonly LotSaid[] {
    const fresh = store.journal({ afterId: seenId, history: true });
    for (const { id } of fresh) seenId = Math.max(seenId, id);
    const isChanged = fresh.some(({ kind }) => kind === 'test' || kind === 'kit');
    if (!isChanged && Math.abs(nowMs - lookedMs) < lookAgainMs) return found;
    lookedMs = nowMs;
    found = disagreeingLots(config, store, kits, nowMs).filter(({ isCompared }) => !isCompared);
    return found;
  }

  const told = (): string[] => (store.document(toldDocument) ?? '').split('\n').filter((key) => key !== '');

  return {
    open,
    tick(nowMs) {
      const said = open(nowMs);
      if (said.length === 0) return;
      const before = told();
      const news = said.filter((each) => !before.includes(keyOf(each)));
      if (news.length === 0) return;
      const outbox = news.flatMap((each): OutboxItem[] =>
        ways({ is: 'line', key: `lot:${keyOf(each)}`, to: 'phone', line: lineOf(each) }),
      );
      // The note and the messages in one transaction: a crash before it repeats both, after it neither.
      const body = [...before, ...news.map(keyOf)].slice(-mostKept).join('\n');
      store.commit({ documents: [{ name: toldDocument, body }], outbox });
      nudge();
    },
  };
}

/** Lots are opened a few times a year: the oldest are long past the month in which they count as new. */
const mostKept = 200;

const keyOf = ({ kit, system }: LotSaid): string => `${kit}/${system}`;

const lineOf = ({ systemName, what }: LotSaid): string =>
  openingLine('low', `${systemName}: ${what}. Test one sample with both before you dose by it.`);
