import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { waitUntil } from '../servers/server-process.ts';
import type { Scene } from './scene.ts';

/** Whoever is in the room while a fault happens: probes, a keeper who enters, a phone that listens. */

export type Heard = { topic: string; text: string; isRetained: boolean; atMs: number };

export type Phone = {
  heard: Heard[];
  /** Keys of the alarm events that came as news: alarm, occurrence, state, time. */
  eventKeys(): string[];
  /** Every state of an alarm that it was told of, also those that were kept for whoever comes. */
  events(): EventFacts[];
  lines(): string[];
  /** Out of reach, its session lasting, until it comes back. */
  leave(): Promise<void>;
  comeBack(): Promise<void>;
  /** Resolves with the next news of an alarm. */
  hearsMore(): Promise<void>;
};

/** A phone with a lasting session: what is published while it is cut off waits for it at the broker. */
export async function startPhone(scene: Scene, brokerPort: number, more: IClientOptions = {}): Promise<Phone> {
  const heard: Heard[] = [];
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`, {
    ...{ clientId: 'phone', clean: false, reconnectPeriod: 100, reconnectOnConnackError: true },
    ...more,
  });
  scene.atEnd(() => client.endAsync(true));
  client.on('error', () => {});
  client.on('message', (topic, payload, { retain }) =>
    heard.push({ topic, text: payload.toString('utf8'), isRetained: retain, atMs: Date.now() }),
  );
  const subscribe = () => client.subscribeAsync(['brinekeep/phone', 'brinekeep/alarms/#'], { qos: 1 });
  await subscribe();
  const events = (isNews: (each: Heard) => boolean) =>
    heard
      .filter((each) => each.topic.startsWith('brinekeep/alarms/') && each.text !== '' && isNews(each))
      .map(({ text }) => JSON.parse(text) as EventFacts);
  const eventKeys = () => events(({ isRetained }) => !isRetained).map(eventKey);
  return {
    heard,
    eventKeys,
    events: () => events(() => true),
    lines: () => heard.filter(({ topic }) => topic === 'brinekeep/phone').map(({ text }) => text),
    leave: () => client.endAsync(),
    async comeBack() {
      client.reconnect();
      await waitUntil('the phone is back', () => client.connected);
      await subscribe();
    },
    hearsMore: async () => {
      const before = eventKeys().length;
      await waitUntil('the phone hears of an alarm', () => eventKeys().length > before, { withinMs: 60_000 });
    },
  };
}

export type EventFacts = { alarm: string; occurrence: number; state: string; time: string };

/** By what a receiver knows a repeat. */
export function eventKey({ alarm, occurrence, state, time }: EventFacts): string {
  return `${alarm}#${occurrence}#${state}#${Date.parse(time)}`;
}

/** A client for probes; what it could not hand over it says again when the broker is back. */
export async function startProbeLine(scene: Scene, brokerPort: number): Promise<MqttClient> {
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`, {
    // An hour of QoS 0 in its memory would go out in one recursion.
    ...{ clientId: 'probes', reconnectPeriod: 100, reconnectOnConnackError: true, queueQoSZero: false },
  });
  client.on('error', () => {});
  scene.atEnd(() => client.endAsync(true));
  return client;
}

export type Keeper = {
  /** Keys that the hub has answered 201 to. */
  confirmed: Set<string>;
  /** Answers other than 201, by status. */
  refusals: Map<number, number>;
  stop(): Promise<void>;
};

/**
 * Enters a test and a dose in turn, each with a key, and sends an entry again with the same key until it is confirmed, as a
 * phone does. `url` gives the hub that is there now.
 */
export function startKeeper(scene: Scene, url: () => string | undefined, pauseMs = 40): Keeper {
  const confirmed = new Set<string>();
  const refusals = new Map<number, number>();
  let isStopping = false;
  const rest = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

  async function tell(key: string, path: string, body: Record<string, unknown>): Promise<void> {
    while (!isStopping) {
      const at = url();
      const answer =
        at &&
        (await fetch(`${at}${path}`, {
          method: 'POST',
          headers: { 'content-type': 'application/json' },
          body: JSON.stringify({ system: 'display', key, ...body }),
          signal: AbortSignal.timeout(10_000),
        }).catch(() => undefined));
      if (answer) {
        await answer.arrayBuffer().catch(() => undefined);
        if (answer.status === 201) {
          // As the journal has it.
          confirmed.add(`${key.split('-')[0]}:${key}`);
          return;
        }
        refusals.set(answer.status, (refusals.get(answer.status) ?? 0) + 1);
      }
      await rest(50);
    }
  }

  async function enter(): Promise<void> {
    for (let n = 0; !isStopping; n += 1) {
      if (n % 2 === 0) {
        // Some lie above a band that ends at 9, and the next is back in it: news of an alarm each time.
        const value = n % 16 === 0 ? 9.6 : 8 + (n % 5) / 10;
        await tell(`test-${n}`, '/api/tests', { analyte: 'alkalinity', value, confirmed: true });
      } else {
        await tell(`dose-${n}`, '/api/doses', { substance: 'sodium_bicarbonate', grams: 1, confirmed: true });
      }
      await rest(pauseMs);
    }
  }

  const running = enter();
  const stop = () => {
    isStopping = true;
    return running;
  };
  scene.atEnd(stop);
  return { confirmed, refusals, stop };
}

/** Runs `tick` at this pace, makes up for late timers, until stopped; `n` counts from 1. */
export function atPace(scene: Scene, perSecond: number, tick: (n: number) => void): { stop(): void; done(): number } {
  const startMs = performance.now();
  let n = 0;
  const timer = setInterval(() => {
    const due = Math.floor(((performance.now() - startMs) / 1000) * perSecond);
    while (n < due) {
      n += 1;
      tick(n);
    }
  }, 10);
  const stop = () => clearInterval(timer);
  scene.atEnd(stop);
  return { stop, done: () => n };
}

/** Milliseconds until it is so. */
export async function timeUntil(
  what: string,
  isSo: () => boolean | Promise<boolean>,
  withinMs = 60_000,
): Promise<number> {
  const startMs = performance.now();
  await waitUntil(what, async () => (await isSo()) === true, { withinMs });
  return performance.now() - startMs;
}

/**
 * GET of a JSON answer; a hub that does not answer within a minute is a fault of its own. 503 is an answer: that of the health
 * page of a hub whose clock has just leapt. 408 asks to be asked again (RFC 9110, 15.5.9): a hub that was kept from running for
 * seconds takes a question that waited for half of one.
 */
export async function ask<Answer>(url: string): Promise<Answer> {
  const response = await fetch(url, { signal: AbortSignal.timeout(60_000) });
  if (response.status === 408) return ask(url);
  if (!response.ok && response.status !== 503)
    throw new Error(`GET ${url}: ${response.status} ${await response.text()}`);
  return (await response.json()) as Answer;
}

type EdgeFacts = { edges: { name: string; up: boolean; counts: Record<string, number> }[] };

/** A count of an edge of the hub, as its health page has it. */
export async function edgeCount(url: string, edge: string, count: string): Promise<number> {
  const { edges } = await ask<EdgeFacts>(`${url}/health`);
  return edges.find(({ name }) => name === edge)?.counts[count] ?? 0;
}
