import type { Commit, JournalEntry, JournalKind, JournalQuery, KeptEntry, Store } from '#adapters/ports/store.ts';
import { orNotStored } from '../refusals/refused.ts';
import { type BodyOf, bodies } from './bodies.ts';

/** An entry of the journal with the body of its kind. */
export type Entry<Kind extends JournalKind = JournalKind> = {
  [Each in Kind]: Omit<KeptEntry, 'kind' | 'body'> & { kind: Each; body: BodyOf<Each> };
}[Kind];

/** The same before it is in the journal. */
export type NewEntry<Kind extends JournalKind = JournalKind> = {
  [Each in Kind]: Omit<JournalEntry, 'kind' | 'body'> & { kind: Each; body: BodyOf<Each> };
}[Kind];

export type Appended<Kind extends JournalKind> = {
  id: number;
  /** False for a key that is there already: nothing was added, and `entry` is the older one. */
  isNew: boolean;
  entry: Entry<Kind>;
};

/** Where a body says of which form it is; one without a word is of the first. */
const formKey = 'v';

type Raw = Record<string, unknown>;

const newestForm = (kind: JournalKind) => bodies[kind].steps.length + 1;

/** The entry in the newest form of its kind; undefined for a body that is of no form this program knows. */
export function readEntry<Kind extends JournalKind>(entry: KeptEntry & { kind: Kind }): Entry<Kind> | undefined {
  const { [formKey]: stated, ...given } = entry.body;
  const form = stated === undefined ? 1 : Number(stated);
  if (!Number.isInteger(form) || form < 1 || form > newestForm(entry.kind)) return undefined;
  const body = bodies[entry.kind].steps.slice(form - 1).reduce<Raw>((older, step) => step(older), given);
  const read = bodies[entry.kind].schema.safeParse(body);
  return read.success ? ({ ...entry, body: read.data } as Entry<Kind>) : undefined;
}

/**
 * Entries as their kinds have them, whatever form they were written in. One that cannot be read is left out, and the store
 * reports it once.
 */
export function readJournal<Kind extends JournalKind = JournalKind>(
  store: Pick<Store, 'journal'>,
  query: JournalQuery & { kind?: Kind },
): Entry<Kind>[] {
  return store.journal(query, (entry) => readEntry(entry as KeptEntry & { kind: Kind }));
}

/** Entries of some kinds, by time. */
export function readKinds<Kind extends JournalKind>(
  store: Pick<Store, 'journal'>,
  kinds: readonly Kind[],
  query: Omit<JournalQuery, 'kind' | 'order' | 'limit'>,
): Entry<Kind>[] {
  return kinds
    .flatMap((kind) => readJournal(store, { ...query, kind, order: 'oldest' }))
    .sort((one, other) => one.timeMs - other.timeMs || one.id - other.id);
}

/** Those of one kind, in their order. */
export function ofKind<Kind extends JournalKind, Each extends NewEntry>(
  entries: readonly Each[],
  kind: Kind,
): Extract<Each, { kind: Kind }>[] {
  return entries.filter((entry): entry is Extract<Each, { kind: Kind }> => entry.kind === kind);
}

/** The entry that was kept under a key, also when it was corrected or taken back since. */
export function entryWithKey(store: Pick<Store, 'journal'>, key: string): Entry | undefined {
  return readJournal(store, { key, history: true })[0];
}

/** For a commit of several things at once: the body as it is put down. @throws ZodError  for one that is not of its kind: a bug */
export function written<Kind extends JournalKind>(entry: NewEntry<Kind>): JournalEntry {
  const body = bodies[entry.kind].schema.parse(entry.body) as Raw;
  const form = newestForm(entry.kind);
  return { ...entry, body: form === 1 ? body : { ...body, [formKey]: form } };
}

/**
 * Puts an entry into the journal, on disk at return, with what belongs to it.
 *
 * @throws Refused not_stored  nothing of it is kept
 */
export function append<Kind extends JournalKind>(
  store: Pick<Store, 'commit' | 'journal'>,
  entry: NewEntry<Kind>,
  also: Omit<Commit, 'entries'> = {},
): Appended<Kind> {
  const older = entry.key === undefined ? undefined : entryWithKey(store, entry.key);
  if (older !== undefined) return { id: older.id, isNew: false, entry: older as Entry<Kind> };
  const kept = written(entry);
  const [id = 0] = orNotStored(() => store.commit({ ...also, entries: [kept] }));
  return { id, isNew: true, entry: { ...entry, id } as Entry<Kind> };
}

/** The entry that says of another that it no longer counts; sent twice it is one. @param by  who took it back */
export function withdrawalOf<Kind extends JournalKind>(old: Entry<Kind>, nowMs: number, by?: string): NewEntry<Kind> {
  const { id, kind, timeMs, system } = old;
  const body = by === undefined ? old.body : { ...(old.body as Raw), withdrawn_by: by };
  const withdrawal = { kind, timeMs, recordedMs: nowMs, system, body, corrects: id, isWithdrawn: true };
  return { ...withdrawal, key: `withdraw:${id}` } as NewEntry<Kind>;
}
