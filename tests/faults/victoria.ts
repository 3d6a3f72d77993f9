import { waitUntil } from '../servers/server-process.ts';
import { startVictoriaMetrics } from '../servers/victoria-metrics.ts';
import { tanksToTest, testTooHigh, toldRows } from './due-alarm.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { batches, roomBefore } from './influx-faults.ts';
import { startPhone, timeUntil } from './people.ts';

const resendAfterSeconds = 3_600;

/** It answers before it writes to disk, so each batch is delivered a second time after a while; a repeat must be the same point. */
export const victoriaCounted: Fault = {
  name: 'victoria',
  title:
    'VictoriaMetrics killed with what it had accepted and not written; each batch is delivered twice, and its points counted',
  amount: { of: 'batches', short: 60, long: 1_000 },
  needs: ['victoria-metrics'],
  async run(scene, count) {
    const victoria = await startVictoriaMetrics();
    scene.atEnd(victoria.stop);
    const tanks = tanksToTest(1);
    const room = await roomBefore(scene, victoria.url, { resend_after_seconds: resendAfterSeconds }, tanks);
    const phone = await startPhone(scene, room.hub.brokerPort ?? 0);
    const watch = watchHealth(scene, () => room.hub.url, phone);
    const sent = await batches(room, Math.round(count / 3));
    await victoria.kill();
    // A mirror that is away keeps no alarm from the phone.
    await testTooHigh(watch, room.hub.url, 0);
    sent.push(...(await batches(room, Math.round(count / 3))));
    await victoria.restart();
    sent.push(...(await batches(room, Math.round(count / 3))));
    const recoveryMs = await timeUntil('all is delivered a second time', async () => {
      room.clock.advance(resendAfterSeconds * 1000);
      await new Promise((resolve) => setTimeout(resolve, 500));
      return (await room.outbox()).waiting === 0;
    });
    const wanted = sent.flat();
    let found: number[] = [];
    await waitUntil('it has them', async () => {
      found = (await victoria.samples('temperature_value')).map(({ timeMs }) => timeMs);
      return new Set(found).size >= wanted.length;
    }).catch(() => {});
    const there = new Set(found);
    type Counts = { edges: { name: string; counts: Record<string, number> }[] };
    const { edges } = (await (await fetch(`${room.hub.url}/health`)).json()) as Counts;
    const told = await toldRows(watch, 'VictoriaMetrics away', tanks.length);
    const resent = edges.find(({ name }) => name === 'influx')?.counts['resent'] ?? 0;
    return [
      {
        ...{ of: 'readings in VictoriaMetrics', caused: 1, stake: wanted.length },
        lost: wanted.filter((each) => !there.has(each)).length,
        doubled: found.length - there.size,
        recoveryMs: [recoveryMs],
        broken: resent > 0 ? [] : ['no batch was delivered a second time'],
        remark: `${found.length} points for ${wanted.length} readings; ${resent} of ${sent.length} batches delivered twice`,
      },
      ...told,
    ];
  },
};
