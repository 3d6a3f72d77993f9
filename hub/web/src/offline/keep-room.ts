import type { RoomView } from '../../../api/room.ts';
import { forget, recall, remember } from '../kit/remembered.ts';

/** Set by the service worker on a state of the room that it kept, since the hub did not answer. */
export const keptHeader = 'x-brinekeep-kept';

const memory = 'last-room';
const keepEveryMs = 60_000;
const keepAfterMs = 300;
/** Storage of a page is a few megabytes for all; a room of hundreds of systems is not kept in it. */
const mostCharacters = 400_000;

let keptMs = Number.NEGATIVE_INFINITY;
let keeping: ReturnType<typeof setTimeout> | undefined;

function hasWorker(): boolean {
  return 'serviceWorker' in navigator && navigator.serviceWorker.controller !== null;
}

/** Where no service worker keeps the state of the room, the page does: a tab that the phone threw away shows it again. */
export function keepRoom(view: RoomView): void {
  if (hasWorker() || performance.now() - keptMs < keepEveryMs) return;
  keptMs = performance.now();
  // Shown first, then kept. Not by whoever was signed out in between.
  keeping = setTimeout(() => {
    const text = JSON.stringify(view);
    if (text.length <= mostCharacters) remember(memory, text);
  }, keepAfterMs);
}

export function keptRoom(): RoomView | undefined {
  try {
    const text = recall(memory);
    return text === undefined ? undefined : (JSON.parse(text) as RoomView);
  } catch {
    return undefined;
  }
}

export function forgetRoom(): void {
  clearTimeout(keeping);
  forget(memory);
}

/** Over plain HTTP on a LAN there is none, and the page works without. */
export function startWorker(): void {
  if (!('serviceWorker' in navigator) || !isSecureContext) return;
  navigator.serviceWorker.register('./service-worker.js').catch(() => {
    // A browser that keeps nothing: the page needs no worker.
  });
}
