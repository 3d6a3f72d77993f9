import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import { freePort } from '../servers/free-port.ts';
import type { RoomBlocks } from '../servers/hub-process.ts';
import { type Influxd, startInfluxd } from '../servers/influxd.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Fault, Row } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { ask, startPhone, timeUntil } from './people.ts';
import { promptNotices, startTimedRoom, type TimedRoom } from './rooms.ts';
import type { Scene } from './scene.ts';

const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const startMs = Date.parse('2026-06-01T00:00:00Z');
const dayMs = 86_400_000;
/** Of a room that flushes each ten minutes: a day is 144 batches, and two days of them are kept. */
const flushEveryMs = 600_000;
const keptBatches = 288;
const readingsInABatch = 3;
const untilMs = 60_000;
const displayTank = {
  ...{ id: 'display', name: 'Display tank', volume_l: 420 },
  bands: { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } },
};

type Outbox = { waiting: number; parked: number; dropped: number };

/** A room that is mirrored there, on a clock of its own. */
export async function roomBefore(scene: Scene, url: string, more: RoomBlocks = {}, tanks: { id: string }[] = []) {
  const room = await startTimedRoom(scene, scene.folder(), startMs, {
    ...{ flush_seconds: 600, notices: promptNotices },
    systems: [displayTank, ...tanks],
    influx: { url, api: 'v1', database: 'hub', resend_after_seconds: 0, most_waiting_batches: keptBatches, ...more },
    probes: [
      { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } },
      { id: 'p', system: 'display', metric: 'ph', mqtt: { topic: 'tank/p' } },
    ],
  });
  return {
    ...room,
    outbox: async () => (await ask<{ outbox: { influx: Outbox } }>(`${room.hub.url}/health`)).outbox.influx,
  };
}

/** So many flushes of readings, each a batch. Gives the moments of the readings, batch by batch. */
export async function batches({ hub, clock, say }: TimedRoom, count: number): Promise<number[][]> {
  const told: number[][] = [];
  for (let batch = 0; batch < count; batch += 1) {
    const moments: number[] = [];
    for (let n = 0; n < readingsInABatch; n += 1) {
      clock.advance(flushEveryMs / readingsInABatch);
      say('t', 25.2 + (batch % 100) / 1000);
      moments.push(clock.nowMs());
    }
    hub.store.flush();
    told.push(moments);
    if (batch % 10 === 0) await new Promise((resolve) => setImmediate(resolve));
  }
  return told;
}

async function momentsIn(influxd: Influxd): Promise<number[]> {
  const rows = await influxd.query('SELECT "value" FROM "temperature" ORDER BY time');
  return rows.map(([timeMs]) => Number(timeMs));
}

function without(wanted: readonly number[], found: readonly number[]): number {
  const there = new Set(found);
  return wanted.filter((each) => !there.has(each)).length;
}

async function awayForDays(scene: Scene, days: number): Promise<Row[]> {
  const influxd = await startInfluxd();
  scene.atEnd(influxd.stop);
  const room = await roomBefore(scene, influxd.url);
  const phone = await startPhone(scene, room.hub.brokerPort ?? 0);
  const watch = watchHealth(scene, () => room.hub.url, phone);
  const before = await batches(room, 5);
  await waitUntil('the server has the first', async () => (await room.outbox()).waiting === 0);
  await influxd.kill();
  const during = await batches(room, Math.round((days * dayMs) / flushEveryMs));
  const { waiting, dropped } = await room.outbox();
  // The alarm of an edge waits a minute by the clock of the room, which runs twenty times as fast here.
  const isSaid = await timeUntil(
    'the phone is told',
    async () => {
      room.clock.advance(20_000);
      await new Promise((resolve) => setTimeout(resolve, 1_000));
      return phone.events().some(({ alarm }) => alarm.endsWith('store/outbox_dropped'));
    },
    untilMs,
  ).then(
    () => true,
    () => false,
  );
  await influxd.restart();
  const backMs = performance.now();
  await waitUntil('the outbox is empty', async () => (await room.outbox()).waiting === 0, { withinMs: 120_000 });
  const recoveryMs = performance.now() - backMs;
  const found = await momentsIn(influxd);
  const kept = [...before, ...during.slice(-waiting)].flat();
  const isNewest =
    without(during.slice(0, during.length - waiting).flat(), found) === (during.length - waiting) * readingsInABatch;
  const row = {
    ...{ of: 'readings kept for InfluxDB', caused: 1, stake: kept.length },
    lost: without(kept, found),
    doubled: found.length - new Set(found).size,
    recoveryMs: [recoveryMs],
    broken: [
      ...(waiting <= keptBatches ? [] : [`${waiting} batches waited, the limit is ${keptBatches}`]),
      ...(dropped === during.length - waiting
        ? []
        : [`${dropped} batches counted as dropped, ${during.length - waiting} were`]),
      ...(dropped > 0 ? [] : ['the outbox was never full']),
      ...(isNewest ? [] : ['what was kept are not the newest']),
      ...(isSaid ? [] : ['the phone was not told that the outbox is full']),
      ...(without(
        during.flat(),
        room.hub.store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ timeMs }) => timeMs),
      ) === 0
        ? []
        : ['readings of the outage are missing from the record itself']),
    ],
    remark: `${days} days by the hub's clock, ${during.length} batches, the newest ${waiting} kept, ${dropped} oldest dropped and counted, the phone was told; the record on disk has all`,
  };
  return [row, await watch.row('InfluxDB away')];
}

/** Hands on to the real server, answers late, or answers an error in its place. */
async function startWayward(scene: Scene, to: string) {
  const mode = { status: 0, delayMs: 0, answered: 0 };
  const port = await freePort();
  const server = createServer((request: IncomingMessage, response: ServerResponse) => {
    const chunks: Buffer[] = [];
    request.on('data', (chunk: Buffer) => chunks.push(chunk));
    request.on('end', async () => {
      const { status, delayMs } = mode;
      mode.answered += 1;
      if (status !== 0) {
        response.writeHead(status, { 'content-type': 'application/json', 'retry-after': '1' });
        response.end('{"error":"not now"}');
        return;
      }
      const headers = Object.fromEntries(
        ['content-type', 'content-encoding'].flatMap((name) =>
          request.headers[name] ? [[name, String(request.headers[name])]] : [],
        ),
      );
      const answer = await fetch(`${to}${request.url}`, {
        method: request.method ?? 'POST',
        headers,
        body: Buffer.concat(chunks),
      });
      const body = await answer.text();
      await new Promise((resolve) => setTimeout(resolve, delayMs));
      response.writeHead(answer.status, { 'content-type': 'application/json' });
      response.end(answer.status === 204 ? undefined : body);
    });
  });
  server.on('error', () => {});
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  scene.atEnd(() => {
    server.closeAllConnections();
    return new Promise((resolve) => server.close(resolve));
  });
  return { url: `http://127.0.0.1:${port}`, mode };
}

async function badAnswers(scene: Scene, name: string, set: { status?: number; delayMs?: number }): Promise<Row> {
  const influxd = await startInfluxd();
  scene.atEnd(influxd.stop);
  const proxy = await startWayward(scene, influxd.url);
  const room = await roomBefore(scene, proxy.url);
  const before = await batches(room, 3);
  await waitUntil('the server has the first', async () => (await room.outbox()).waiting === 0, { withinMs: untilMs });
  const answeredBefore = proxy.mode.answered;
  Object.assign(proxy.mode, set);
  const during = await batches(room, 20);
  const failures = async () => {
    const { edges } = await ask<{ edges: { name: string; counts: Record<string, number> }[] }>(
      `${room.hub.url}/health`,
    );
    return edges.find((edge) => edge.name === 'influx')?.counts['failures'] ?? 0;
  };
  await waitUntil('it has failed', async () => (await failures()) > 0, { withinMs: untilMs });
  const caused = proxy.mode.answered - answeredBefore;
  Object.assign(proxy.mode, { status: 0, delayMs: 0 });
  const recoveryMs = await timeUntil('the outbox is empty', async () => (await room.outbox()).waiting === 0, 120_000);
  const wanted = [...before, ...during].flat();
  const found = await momentsIn(influxd);
  const { parked, dropped } = await room.outbox();
  return {
    ...{ of: `readings, ${name}`, caused, stake: wanted.length, lost: without(wanted, found) },
    doubled: found.length - new Set(found).size,
    recoveryMs: [recoveryMs],
    broken: parked + dropped === 0 ? [] : [`${parked} parked and ${dropped} dropped, though waiting would help`],
  };
}

/** The real server refuses a point whose field has another type there: 400, the rest of the batch is taken. */
async function onePointRefused(scene: Scene): Promise<Row> {
  const influxd = await startInfluxd();
  scene.atEnd(influxd.stop);
  await fetch(`${influxd.url}/write?db=hub&precision=ms`, { method: 'POST', body: `ph value="text" ${startMs}` });
  const room = await roomBefore(scene, influxd.url);
  const before = await batches(room, 5);
  room.say('p', 8.1);
  const after = await batches(room, 20);
  const recoveryMs = await timeUntil('the outbox is empty', async () => (await room.outbox()).waiting === 0);
  const wanted = [...before, ...after].flat();
  const found = await momentsIn(influxd);
  const { parked } = await room.outbox();
  return {
    ...{ of: 'readings beside a refused point', caused: 1, stake: wanted.length, lost: without(wanted, found) },
    doubled: found.length - new Set(found).size,
    recoveryMs: [recoveryMs],
    broken: parked === 1 ? [] : [`${parked} items parked, need 1`],
    remark: 'the point was parked with the reason of the server',
  };
}

export const influxAway: Fault = {
  name: 'influx',
  title:
    'InfluxDB away for days with more than the outbox may hold; then slow (20 s), 500, 503, 429, and one point refused',
  amount: { of: 'days', short: 3, long: 30 },
  needs: ['influxd'],
  async run(scene, days) {
    const rows = await Promise.all([
      awayForDays(scene, days),
      badAnswers(scene, 'answers after 20 s', { delayMs: 20_000 }),
      badAnswers(scene, '500', { status: 500 }),
      badAnswers(scene, '503', { status: 503 }),
      badAnswers(scene, '429', { status: 429 }),
      onePointRefused(scene),
    ]);
    return rows.flat();
  },
};
