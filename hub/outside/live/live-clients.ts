import type { ServerResponse } from 'node:http';
import { defined } from '#rules/plain-data/defined.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { LiveValue } from '../../model/answers/live-value.ts';

const sendEveryMs = 500;
/** Above this a client reads too slowly; it is skipped, and next time gets only the latest of each metric. */
const mostUnsentBytes = 262_144;
const dropAfterMs = 30_000;
export const mostLiveClients = 100;
/** Of one device or token: no one of them takes the places of all. */
export const mostLiveOfOne = 25;

type Client = {
  who: string | undefined;
  response: ServerResponse;
  pending: Map<string, LiveValue>;
  slowSinceMs: number | undefined;
};

export type LiveClients = {
  show(readings: readonly Reading[]): void;
  /** Tells every page to fetch the room again: an alarm, a test or the advice changed. */
  changed(): void;
  /** False when there is no room for another client, or for another one of the same device or token. */
  join(response: ServerResponse, who?: string): boolean;
  hasRoom(who?: string): boolean;
  size(): number;
  stop(): void;
};

export function liveValue(reading: Reading): LiveValue {
  const { series, timeMs, quality } = reading;
  const base = { system: series.system, metric: series.metric, probe: series.probe, time: timeMs, flag: quality.flag };
  if (quality.flag === 'missing') return { ...base, value: null, why: quality.why };
  if (quality.flag === 'fail') return { ...base, value: null, why: quality.why };
  return { ...base, value: quality.value, ...defined({ why: quality.why }) };
}

/**
 * The open pages, by server-sent events. Values wait for at most half a second and each metric only with its latest, so
 * a flood of readings is never a flood of events. A client that does not read for 30 s is dropped; it can come back.
 */
export function createLiveClients(monotonicMs: () => number): LiveClients {
  const clients = new Set<Client>();

  function send(client: Client, event: string, document: unknown): void {
    client.response.write(`event: ${event}\ndata: ${JSON.stringify(document)}\n\n`);
  }

  function hasRoom(who?: string): boolean {
    if (clients.size >= mostLiveClients) return false;
    return who === undefined || [...clients].filter((client) => client.who === who).length < mostLiveOfOne;
  }

  function drop(client: Client): void {
    clients.delete(client);
    client.response.destroy();
  }

  function isSlow(client: Client): boolean {
    if (client.response.writableLength < mostUnsentBytes) {
      client.slowSinceMs = undefined;
      return false;
    }
    client.slowSinceMs ??= monotonicMs();
    if (monotonicMs() - client.slowSinceMs > dropAfterMs) drop(client);
    return true;
  }

  const timer = setInterval(() => {
    for (const client of clients) {
      if (client.pending.size === 0 || isSlow(client)) continue;
      const values = [...client.pending.values()];
      client.pending.clear();
      send(client, 'values', values);
    }
  }, sendEveryMs);
  timer.unref();

  return {
    show(readings) {
      if (clients.size === 0) return;
      for (const reading of readings) {
        const value = liveValue(reading);
        const key = `${value.system}\0${value.metric}\0${value.probe}`;
        for (const client of clients) client.pending.set(key, value);
      }
    },
    changed() {
      for (const client of clients) if (!isSlow(client)) send(client, 'changed', {});
    },
    hasRoom,
    join(response, who) {
      if (!hasRoom(who)) return false;
      const client: Client = { who, response, pending: new Map(), slowSinceMs: undefined };
      clients.add(client);
      response.on('close', () => clients.delete(client));
      response.on('error', () => clients.delete(client));
      send(client, 'hello', {});
      return true;
    },
    size: () => clients.size,
    stop() {
      clearInterval(timer);
      for (const client of clients) drop(client);
    },
  };
}
