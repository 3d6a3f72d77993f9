/**
 * Keeps the page and the last state of the room on the device. Is: the page opens without the hub and shows what was known,
 * marked as old. Is not: a cache of anything else of the API, or needed; over plain HTTP on a LAN no browser starts it.
 */

/** Put in by the build: the files of the page, and a name that changes with any of them. */
declare const __SHELL__: readonly string[];
declare const __VERSION__: string;

type Waiting = Event & { waitUntil(work: Promise<unknown>): void };
type Asking = Waiting & { request: Request; respondWith(answer: Promise<Response>): void };
type Worker = {
  location: Location;
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
  addEventListener(type: 'install' | 'activate', listener: (event: Waiting) => void): void;
  addEventListener(type: 'fetch', listener: (event: Asking) => void): void;
};

// The types of a worker and those of a page cannot both be in one program.
const worker = self as unknown as Worker;

const shellCache = `brinekeep-shell-${__VERSION__}`;
const roomCache = 'brinekeep-room';
/** A phone at the edge of the network waits for ever otherwise. */
const answerWithinMs = 5000;

const address = (path: string) => new URL(path, worker.location.href).href;
const page = address('./');
const roomAddress = address('./api/room');
const shell = new Set(__SHELL__.map(address));

worker.addEventListener('install', (event) => {
  event.waitUntil(
    caches
      .open(shellCache)
      .then((cache) => cache.addAll([page, ...shell].map((url) => new Request(url, { cache: 'reload' }))))
      .then(() => worker.skipWaiting()),
  );
});

worker.addEventListener('activate', (event) => {
  const isOld = (name: string) => name.startsWith('brinekeep-shell-') && name !== shellCache;
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter(isOld).map((name) => caches.delete(name))))
      .then(() => worker.clients.claim()),
  );
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method !== 'GET') return;
  const url = new URL(request.url);
  url.hash = '';
  if (url.href === roomAddress) event.respondWith(roomNowOrKept(request));
  else if (request.mode === 'navigate' && url.href === page) event.respondWith(pageNowOrKept(request));
  else if (shell.has(url.href)) event.respondWith(kept(url.href).then((found) => found ?? fetch(request)));
});

async function kept(url: string): Promise<Response | undefined> {
  const cache = await caches.open(shellCache);
  return cache.match(url);
}

/** The hub's own page first: it may be a newer one. */
async function pageNowOrKept(request: Request): Promise<Response> {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(answerWithinMs) });
  } catch (error) {
    const found = await kept(page);
    if (found === undefined) throw error;
    return found;
  }
}

async function roomNowOrKept(request: Request): Promise<Response> {
  const cache = await caches.open(roomCache);
  try {
    const response = await fetch(request, { signal: AbortSignal.timeout(answerWithinMs) });
    if (response.ok) await cache.put(roomAddress, response.clone());
    // Who was signed out shall not see the room from here either.
    else if (response.status === 401 || response.status === 403) await cache.delete(roomAddress);
    return response;
  } catch (error) {
    const found = await cache.match(roomAddress);
    if (found === undefined) throw error;
    const headers = { 'content-type': 'application/json', 'x-brinekeep-kept': 'yes' };
    return new Response(await found.blob(), { headers });
  }
}
