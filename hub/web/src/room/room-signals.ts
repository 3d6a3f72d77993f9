import { effect, signal } from '@preact/signals';
import type { AnswerOf, AskedOf, Route } from '../../../api/contract.ts';
import type { LiveValue, RoomView } from '../../../api/room.ts';
import { askRoute, isSignInNeeded, type Outcome } from '../kit/ask.ts';
import { forgetRoom, keepRoom, keptHeader, keptRoom, startWorker } from '../offline/keep-room.ts';

/** What the page knows of the room, and whether the hub still answers. */
export const room = signal<RoomView | undefined>(undefined);
export const isConnected = signal(false);
/** Advances once a second, so that every age on the page counts on. */
export const nowMs = signal(Date.now());

let source: EventSource | undefined;

/** Difference between the hub's clock and this device's: ages are told by the hub's. */
let hubAheadMs = 0;

/** What the first look does not need waits until it is drawn. */
const firstLookMs = 1200;

/** Now by the hub's clock. */
export function hubNowMs(): number {
  return Date.now() + hubAheadMs;
}

/** The room leaves the screen with the sign-in; what waits to be sent stays on the device. */
effect(() => {
  if (!isSignInNeeded.value) return;
  room.value = undefined;
  source?.close();
});

async function fetchRoom(): Promise<void> {
  try {
    const outcome = await askRoute('GET /api/room', {});
    // Who may not see the room any more shall not see it from memory either.
    if (!outcome.ok && (outcome.problem.status === 401 || outcome.problem.status === 403)) forgetRoom();
    if (!outcome.ok) throw new Error(outcome.problem.detail);
    const { body: view, headers } = outcome;
    if (headers.has(keptHeader)) {
      // Of the past: the hub's clock cannot be told from it.
      room.value ??= view;
      throw new Error('the hub does not answer');
    }
    hubAheadMs = view.time - Date.now();
    isSignInNeeded.value = false;
    if (room.value === undefined) setTimeout(startWorker, firstLookMs);
    room.value = view;
    keepRoom(view);
  } catch (error) {
    room.value ??= keptRoom();
    throw error;
  }
}

function withValues(view: RoomView, values: readonly LiveValue[]): RoomView {
  const latest = new Map(values.map((value) => [`${value.system}\0${value.metric}\0${value.probe}`, value]));
  return {
    ...view,
    systems: view.systems.map((system) => ({
      ...system,
      metrics: system.metrics.map((metric) => {
        const live = latest.get(`${system.id}\0${metric.metric}\0${metric.probe}`);
        if (live === undefined) return metric;
        return { ...metric, value: live.value, flag: live.flag, time: live.time, why: live.why ?? null };
      }),
    })),
  };
}

let isFetchDue = false;

/** Several changes at once are one fetch. */
export function fetchSoon(afterMs = 150): void {
  if (isFetchDue) return;
  isFetchDue = true;
  setTimeout(() => {
    isFetchDue = false;
    fetchRoom().catch(() => {
      isConnected.value = false;
      listenSoon();
    });
  }, afterMs);
}

const refetchEveryMs = 60_000;
const listenAgainMs = 2000;

let isListenDue = false;

/**
 * A browser comes back by itself after some losses only: not when the hub answered with an error, and not from a stream
 * that died without a word while the phone slept. So a failed fetch or a closed stream opens another one.
 */
function listenSoon(): void {
  if (isListenDue) return;
  isListenDue = true;
  setTimeout(() => {
    isListenDue = false;
    listen();
  }, listenAgainMs);
}

function listen(): void {
  source?.close();
  if (isSignInNeeded.value) return;
  const own = new EventSource('./api/live');
  source = own;
  own.addEventListener('hello', () => {
    isConnected.value = true;
    // What changed between the room's answer and this is in the next answer.
    fetchSoon(performance.now() < firstLookMs ? firstLookMs : undefined);
  });
  own.addEventListener('changed', () => fetchSoon());
  own.addEventListener('values', (event) => {
    const values = JSON.parse((event as MessageEvent<string>).data) as LiveValue[];
    const known = room.value;
    if (known === undefined) return;
    const isKnown = (value: LiveValue) =>
      known.systems.some(
        ({ id, metrics }) => id === value.system && metrics.some((m) => m.metric === value.metric && m.probe !== null),
      );
    if (values.every(isKnown)) room.value = withValues(known, values);
    else fetchSoon();
  });
  own.addEventListener('error', () => {
    isConnected.value = false;
    if (own.readyState !== EventSource.CLOSED) return;
    // A stream does not say why it was refused; the room does.
    fetchSoon();
    listenSoon();
  });
}

/** The same again, for whoever has just come in. */
export function followAfterSignIn(): void {
  fetchSoon();
  listen();
}

/**
 * Full state on connect, then changes; after a loss the state is fetched again.
 *
 * @returns when the first answer is here, or will not come
 */
export function followRoom(): Promise<void> {
  // Beside the stream and not after it: the first look must not wait for a second answer.
  const first = fetchRoom()
    .then(() => {
      isConnected.value = true;
    })
    .catch(() => {});
  listen();
  setInterval(() => {
    nowMs.value = hubNowMs();
  }, 1000);
  // The plots of the last day move on although nothing else changes.
  setInterval(() => fetchSoon(), refetchEveryMs);
  // A phone that slept finds its stream gone without being told.
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') fetchSoon();
  });
  return first;
}

/** Sends something that may change the room. */
export async function change<Name extends Route>(
  route: Name,
  asked: AskedOf<Name>,
  withinMs?: number,
): Promise<Outcome<AnswerOf<Name>>> {
  const outcome = await askRoute(route, asked, withinMs === undefined ? {} : { withinMs });
  if (outcome.ok) fetchSoon();
  return outcome;
}
