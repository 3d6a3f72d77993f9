import type { Sent } from '#adapters/ports/notifier.ts';

/** How the broker behaves until it is told otherwise. */
export type BrokerMood = 'well' | 'away' | 'silent' | 'refuses_states' | 'hangs_up_on_states';

export type Heard = { line: string; atMs: number };

type Waiting = (sent: Sent) => void;

/**
 * A broker with a phone, as little of both as there can be: retained topics, a session that lasts for the phone, and what can go
 * wrong with them. It outlives the hub.
 */
export function createBrokerModel(nowMs: () => number) {
  let mood: BrokerMood = 'well';
  let steadySinceMs = nowMs();
  let isLinked = true;
  let hasForgotten = false;
  let isPhoneHere = true;
  let isSessionKept = true;
  let linkBackAtMs = 0;
  let phoneBackAtMs: number | undefined;
  const retained = new Map<string, { state: string }>();
  const queue: string[] = [];
  const heard: Heard[] = [];
  let unanswered: Waiting[] = [];

  function hear(line: string): void {
    if (isPhoneHere) heard.push({ line, atMs: nowMs() });
    else if (isSessionKept) queue.push(line);
  }

  function take(item: string): void {
    const { topic, payload, retain } = JSON.parse(item) as { topic: string; payload: string; retain: boolean };
    if (retain) retained.set(topic, JSON.parse(payload) as { state: string });
    else if (topic.endsWith('/phone')) hear(payload);
  }

  function breakLink(forMs: number): void {
    isLinked = false;
    linkBackAtMs = nowMs() + forMs;
    for (const answer of unanswered) answer({ is: 'away', why: 'the link broke' });
    unanswered = [];
  }

  function phoneReturns(): void {
    if (!isPhoneHere) steadySinceMs = nowMs();
    isPhoneHere = true;
    isSessionKept = true;
    phoneBackAtMs = undefined;
    for (const line of queue.splice(0)) hear(line);
  }

  return {
    retained,
    heard,
    mood: () => mood,
    /** For how long it has been so, with the phone there. */
    steadyForMs: () => (isPhoneHere ? nowMs() - steadySinceMs : 0),
    isUp: () => isLinked && mood !== 'away',
    be(next: BrokerMood): void {
      if (next !== mood) steadySinceMs = nowMs();
      mood = next;
      if (next === 'away') breakLink(0);
    },
    /** Its process ends and comes back without what it held; the phone comes back within seconds, and finds no session. */
    forget(): void {
      retained.clear();
      queue.length = 0;
      isSessionKept = false;
      hasForgotten = true;
      isPhoneHere = false;
      phoneBackAtMs = nowMs() + 5_000;
      breakLink(1_000);
    },
    phoneLeaves(): void {
      isPhoneHere = false;
    },
    phoneReturns,
    reconnect: () => breakLink(1_000),
    /** Called as time passes. @returns whether the link came back, to a broker that knows it or not */
    tick(): 'same' | 'back' | 'back_forgotten' {
      if (phoneBackAtMs !== undefined && nowMs() >= phoneBackAtMs) phoneReturns();
      if (isLinked || mood === 'away' || nowMs() < linkBackAtMs) return 'same';
      isLinked = true;
      const answer = hasForgotten ? 'back_forgotten' : 'back';
      hasForgotten = false;
      return answer;
    },
    send(item: string): Promise<Sent> {
      if (!isLinked || mood === 'away') return Promise.resolve({ is: 'away', why: 'nobody is there' });
      if (mood === 'silent') return new Promise((resolve) => unanswered.push(resolve));
      if (item.includes('/alarms/') && mood === 'refuses_states')
        return Promise.resolve({ is: 'refused', why: 'an access rule' });
      if (item.includes('/alarms/') && mood === 'hangs_up_on_states') {
        breakLink(1_000);
        return Promise.resolve({ is: 'broke', why: 'it hung up' });
      }
      take(item);
      return Promise.resolve({ is: 'acknowledged' });
    },
  };
}

export type BrokerModel = ReturnType<typeof createBrokerModel>;
