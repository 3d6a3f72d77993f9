import { waitUntil } from '../servers/server-process.ts';
import type { Row } from './fault.ts';
import { eventKey, type Phone } from './people.ts';
import type { Scene } from './scene.ts';

/**
 * A notice is with the phone within a second. The hub waits ten seconds for an acknowledgement and looks at its edges each five:
 * beyond both it must say itself that something is not told.
 */
const graceMs = 20_000;
const pauseMs = 500;

type Due = { what: string; sinceMs: number; isTold(): boolean };
type AlarmFacts = { alarm: string; occurrence: number; state: string; timeMs: number };
type Answer = { status: string; causes: { part: string; cause: string }[] };

export type HealthWatch = {
  /** From now on such a line is due at the phone. */
  mustTell(what: string, line: RegExp): void;
  /** How many times it is due and was not heard, at this moment. */
  untold(): string[];
  /** Resolves with its next answer. */
  hasAnswered(): Promise<void>;
  /** Ends it; what its answers said, as a row of the matrix. `silent`: in this fault something must have been late. */
  row(during: string, silent?: 'something_is_late'): Promise<Row>;
};

/**
 * Asks a hub for its health all through a fault. Due at the phone are what the fault itself says must come, and each alarm event
 * of the hub's journal. While one of them is late the health must not be `ok`; no answer is not `ok` either.
 *
 * @param url  of the hub that is there now
 */
export function watchHealth(scene: Scene, url: () => string | undefined, phone: Phone): HealthWatch {
  const due = new Map<string, Due>();
  const lies: string[] = [];
  let answers = 0;
  let whileLate = 0;
  let isStopping = false;

  function isKnown({ alarm, timeMs }: AlarmFacts): boolean {
    return phone.events().some((heard) => heard.alarm === alarm && Date.parse(heard.time) >= timeMs);
  }

  async function get<Found>(path: string): Promise<Found | undefined> {
    const at = url();
    if (at === undefined) return undefined;
    const answer = await fetch(`${at}${path}`, { signal: AbortSignal.timeout(20_000) }).catch(() => undefined);
    return answer?.json().catch(() => undefined) as Promise<Found | undefined>;
  }

  async function noteEvents(): Promise<void> {
    const events = (await get<{ body: AlarmFacts }[]>('/api/entries?kind=alarm&limit=1000')) ?? [];
    for (const { body } of Array.isArray(events) ? events : []) {
      const key = eventKey({ ...body, time: new Date(body.timeMs).toISOString() });
      if (!due.has(key)) due.set(key, { what: key, sinceMs: performance.now(), isTold: () => isKnown(body) });
    }
  }

  const lateAt = (nowMs: number) =>
    [...due.values()].filter((each) => nowMs - each.sinceMs > graceMs && !each.isTold());

  async function look(): Promise<void> {
    await noteEvents();
    const late = lateAt(performance.now());
    const health = await get<Answer>('/health');
    if (health?.status === undefined) return;
    answers += 1;
    // Told while the answer was on its way: then it was no lie.
    const still = late.filter((each) => !each.isTold());
    if (still.length === 0) return;
    whileLate += 1;
    if (health.status !== 'ok') return;
    // What the broker has acknowledged is on its way to the phone.
    await new Promise((resolve) => setTimeout(resolve, pauseMs));
    const untold = still.filter((each) => !each.isTold());
    if (untold.length > 0) lies.push(untold.map(({ what }) => what).join(', '));
  }

  async function lookOn(): Promise<void> {
    while (!isStopping) {
      await look();
      await new Promise((resolve) => setTimeout(resolve, pauseMs));
    }
  }
  const running = lookOn();
  const stop = () => {
    isStopping = true;
    return running;
  };
  scene.atEnd(stop);

  return {
    mustTell(what, line) {
      const heardBefore = phone.lines().length;
      const isTold = () =>
        phone
          .lines()
          .slice(heardBefore)
          .some((text) => line.test(text));
      due.set(what, { what, sinceMs: performance.now(), isTold });
    },
    async hasAnswered() {
      const before = answers;
      await waitUntil('the hub says how it is', () => answers > before);
    },
    untold: () => [...due.values()].filter((each) => !each.isTold()).map(({ what }) => what),
    async row(during, silent) {
      await stop();
      return {
        ...{ of: `answers of /health, ${during}`, caused: 1, stake: answers, lost: lies.length },
        doubled: 0,
        recoveryMs: [],
        broken: [
          ...(lies.length === 0 ? [] : [`said ok while this was not told: ${lies[0]}`]),
          ...(silent === undefined || whileLate > 0 ? [] : ['nothing was late, so nothing was asked of it']),
        ],
        remark: `${whileLate} of ${answers} while one of ${due.size} was late by more than ${graceMs / 1000} s; lost are those that said ok then`,
      };
    },
  };
}
