import type { Socket } from 'node:net';
import { connectAsync } from 'mqtt';
import { waitUntil } from '../servers/server-process.ts';

/** Each with a temperature probe that speaks once a second. */
export const tankCount = 200;
const everyMs = 1000 / tankCount;

export const band = { low: 25, high: 26.5 };
const quiet = { from: '00:00', to: '00:00' };
const settings = {
  site: { name: 'Invented room' },
  clock: { trust: 'always' },
  // What is measured is the way beyond the delays: there are none.
  rules: [{ rule: 'out_of_band', on_delay_minutes: 0, off_delay_minutes: 0 }],
  notices: {
    quiet_hours: { medium: quiet, low: quiet },
    most_per_hour: 1000,
    group_seconds: { high: 0, medium: 0, low: 0 },
  },
};

export const topicOf = (tank: number) => `probes/t${tank}`;

/** The blocks of a hub that watches these tanks through a broker. */
export function configOf(brokerPort: number): Record<string, unknown> {
  const tanks = Array.from({ length: tankCount }, (_, tank) => tank);
  return {
    ...settings,
    mqtt: { url: `mqtt://127.0.0.1:${brokerPort}` },
    systems: tanks.map((tank) => ({
      ...{ id: `s${tank}`, name: `Tank <${tank}>`, volume_l: 400, bands: { temperature: band } },
    })),
    probes: tanks.map((tank) => ({
      ...{
        id: `t${tank}`,
        system: `s${tank}`,
        metric: 'temperature',
        every_seconds: 1,
        mqtt: { topic: topicOf(tank) },
      },
    })),
  };
}

export type Excursions = {
  /** So many tanks leave their band, one after the other. */
  tanks: number;
  /** So many leave in a second. */
  leavingEachS: number;
  settleS: number;
  /** Where each of those who watch tells a phone. */
  noticeTopics: Record<string, string>;
  /** When all have settled, before the first tank leaves. */
  onSettled?: () => void;
};

/**
 * Each tank in turn leaves its band for good, amid the readings of all others.
 *
 * @returns for each that watches the milliseconds from the publish to its line for the phone, both by this process; and how many
 *   readings were published since all had settled
 */
export async function excursions(
  brokerPort: number,
  { tanks, leavingEachS, settleS, noticeTopics, onSettled }: Excursions,
): Promise<{ tookMs: Record<string, number[]>; readings: number }> {
  const client = await connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
  // As the firmware of probes does: a reading must not wait here for the answer to the one before it.
  (client.stream as Socket).setNoDelay(true);
  const publishedMs = new Map<number, number>();
  const told = Object.entries(noticeTopics).map(([who, topic]) => ({ who, topic, ms: new Map<number, number>() }));
  client.on('message', (topic, payload) => {
    const nowMs = performance.now();
    const tank = Number(/Tank <(\d+)>/.exec(payload.toString('utf8'))?.[1]);
    const sentMs = publishedMs.get(tank);
    const by = told.find((one) => one.topic === topic);
    if (by !== undefined && sentMs !== undefined && !by.ms.has(tank)) by.ms.set(tank, nowMs - sentMs);
  });
  await client.subscribeAsync(Object.values(noticeTopics), { qos: 1 });
  const startedMs = performance.now();
  const settling = settleS * tankCount;
  // The last one says it more than once: late readings that come at once on a busy machine are doubted as a jump.
  const lasts = Math.ceil((settleS + tanks / leavingEachS + 3) * tankCount);
  for (let n = 0; n < lasts; n += 1) {
    const tank = n % tankCount;
    const isOut = tank < tanks && tank < (n / tankCount - settleS) * leavingEachS;
    await untilMs(startedMs + n * everyMs);
    if (n === settling) onSettled?.();
    if (isOut && !publishedMs.has(tank)) publishedMs.set(tank, performance.now());
    // A tenth of a degree inside or outside, with a ripple: no jump that the quality tests would doubt.
    const beyond = 0.1 + (n % 7) / 100;
    client.publish(topicOf(tank), (band.high + (isOut ? beyond : -beyond)).toFixed(2), { qos: 1 });
  }
  const isAllTold = () => told.every(({ ms }) => ms.size === publishedMs.size);
  await waitUntil('the last notice', isAllTold, { withinMs: 10_000 }).catch(() => {});
  await client.endAsync();
  for (const { who, ms } of told)
    if (ms.size < publishedMs.size) throw new Error(`${ms.size} of ${publishedMs.size} notices came from ${who}`);
  return { tookMs: Object.fromEntries(told.map(({ who, ms }) => [who, [...ms.values()]])), readings: lasts - settling };
}

async function untilMs(timeMs: number): Promise<void> {
  const leftMs = timeMs - performance.now();
  if (leftMs > 0) await new Promise((resolve) => setTimeout(resolve, leftMs));
}
