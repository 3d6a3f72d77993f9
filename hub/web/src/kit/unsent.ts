import { signal } from '@preact/signals';
import { defined } from '#rules/plain-data/defined.ts';
import type { AskedOf } from '../../../api/contract.ts';
import type { Doubt } from '../../../api/problem.ts';
import { change, hubNowMs } from '../room/room-signals.ts';
import { forget, recall, remember, rememberedNames } from './remembered.ts';

/** Where entries go, below `api/`. */
export type EntryPath = 'tests' | 'doses' | 'water-changes' | 'plan' | 'refills';

/**
 * Entries on their way to the hub. Is: kept on this device before the first try, sent again until the hub has answered,
 * stored once since the hub knows each by its `key`. Is not: kept when the browser keeps nothing (a private window), or
 * visible to other devices before it is sent.
 */
export type Unsent = {
  key: string;
  path: EntryPath;
  body: Record<string, unknown>;
  /** As the person would say it: `Alkalinity 8.2 dKH`. */
  said: string;
  /** Set when the hub did not take it as it is. */
  doubt?: { isQuestion: boolean; text: string; about?: Doubt };
};

export type Outcome =
  /** `saved` is what was saved in the hub's words. */
  | { is: 'stored'; id: number; saved: string }
  /** The hub does not answer: it is sent when the hub is back. */
  | { is: 'kept' }
  | { is: 'asked' | 'refused'; text: string; about?: Doubt };

const start = 'unsent.';
const againEveryMs = 5000;
const listenAfterMs = 1500;
/** More than this is no lost minute but a mistake. */
const mostKept = 200;

export const unsent = signal<Unsent[]>(read());
const onTheWay = new Set<string>();

function read(): Unsent[] {
  return rememberedNames(start)
    .toSorted()
    .flatMap((name) => {
      try {
        return [JSON.parse(recall(name) ?? '') as Unsent];
      } catch {
        return [];
      }
    });
}

function keep(entry: Unsent): void {
  // One item for each entry: two open pages then never overwrite each other's.
  remember(start + entry.key, JSON.stringify(entry));
  unsent.value = [...unsent.value.filter(({ key }) => key !== entry.key), entry].slice(-mostKept);
}

export function drop(key: string): void {
  forget(start + key);
  unsent.value = unsent.value.filter((entry) => entry.key !== key);
}

/** One for each entry that is typed, so that a second tap, or a second try after a broken answer, is the same entry. */
export function newKey(): string {
  // Not crypto.randomUUID: a browser gives it only to pages over HTTPS.
  return `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`;
}

async function tryOnce(entry: Unsent): Promise<Outcome> {
  onTheWay.add(entry.key);
  try {
    const said = { body: entry.body } as AskedOf<`POST /api/${EntryPath}`>;
    const answer = await change(`POST /api/${entry.path}`, said);
    if (answer.ok) return { is: 'stored', id: answer.body.id, saved: answer.body.saved };
    // Nobody is signed in: the entry is good, and waits for somebody who is.
    const { status, detail: text, doubt } = answer.problem;
    if (status === 0 || status === 401 || status >= 500) return { is: 'kept' };
    return { is: status === 409 ? 'asked' : 'refused', text, ...defined({ about: doubt }) };
  } finally {
    onTheWay.delete(entry.key);
  }
}

/** Enters something that a person is looking at: a doubt of the hub comes back as the outcome and is not kept. */
export async function enter(
  path: EntryPath,
  body: Record<string, unknown>,
  said: string,
  key: string,
): Promise<Outcome> {
  // The time of typing and not of arrival: a test that waited an hour was still made an hour ago.
  const time = new Date(hubNowMs()).toISOString();
  const entry: Unsent = { key, path, said, body: { time, ...body, key, by: 'page' } };
  keep(entry);
  const outcome = await tryOnce(entry);
  if (outcome.is !== 'kept') drop(key);
  return outcome;
}

let isSending = false;

async function sendAll(): Promise<void> {
  if (isSending) return;
  isSending = true;
  try {
    for (const entry of unsent.value) {
      if (entry.doubt !== undefined || onTheWay.has(entry.key)) continue;
      const outcome = await tryOnce(entry);
      // The hub is still away: the others would wait in vain as well, and their order would be lost.
      if (outcome.is === 'kept') return;
      if (outcome.is === 'stored') drop(entry.key);
      else {
        const { text, about } = outcome;
        const isQuestion = outcome.is === 'asked';
        keep({ ...entry, doubt: { isQuestion, text, ...defined({ about }) } });
      }
    }
  } finally {
    isSending = false;
  }
}

/** The person has answered: what was most likely meant is sent in place of the number, or the number as it was typed. */
export function answerDoubt(entry: Unsent, answer: 'meant' | 'as_typed'): void {
  const { doubt, ...asTyped } = entry;
  const right = answer === 'meant' ? doubt?.about?.meant : undefined;
  const said = right === undefined ? entry.said : entry.said.replace(doubt?.about?.typed ?? '', right.say);
  keep({ ...asTyped, said, body: { ...entry.body, ...(right?.change ?? { confirmed: true }) } });
  void sendAll();
}

/** Sends what waits, now and whenever the network may be back. */
export function followUnsent(): void {
  void sendAll();
  setInterval(() => void sendAll(), againEveryMs);
  addEventListener('online', () => void sendAll());
  // Only once the first view stands: a browser opens its storage again for whoever listens, and that takes its time.
  setTimeout(() => {
    const readAgain = () => {
      unsent.value = read();
    };
    addEventListener('storage', readAgain);
    readAgain();
  }, listenAfterMs);
}

/** Takes a stored entry back; undefined when it was taken, else what the hub said. */
export async function takeBack(id: number): Promise<string | undefined> {
  const answer = await change('POST /api/entries/:id/withdraw', { params: { id }, body: { by: 'page' } });
  return answer.ok ? undefined : answer.problem.detail;
}
