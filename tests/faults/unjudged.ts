import { postJson } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { dyingAfter } from './dying-store.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { eventKey, startPhone, timeUntil } from './people.ts';
import { promptNotices, startRoom } from './rooms.ts';

/** Dead between the commit of a test and its judgement; the next start has to make it good. */
export const unjudged: Fault = {
  name: 'unjudged',
  title: 'the process gone when a test is on disk and before the rules have seen it',
  amount: { of: 'times', short: 2, long: 40 },
  needs: ['mosquitto'],
  async run(scene, times) {
    const dir = scene.folder();
    const broker = await startMosquitto();
    scene.atEnd(broker.stop);
    const phone = await startPhone(scene, broker.port);
    const tanks = Array.from({ length: times }, (_, n) => `tank${n}`);
    const blocks = {
      ...{ notices: promptNotices, backups: { enabled: false }, mqtt: { url: `mqtt://127.0.0.1:${broker.port}` } },
      systems: tanks.map((id) => ({ id, name: `${id}.`, volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } })),
    };
    let url: string | undefined;
    const watch = watchHealth(scene, () => url, phone);
    const recoveryMs: number[] = [];
    const broken: string[] = [];
    let caused = 0;
    for (const tank of tanks) {
      const dying = await startRoom(scene, dir, blocks, dyingAfter('test'));
      const body = { system: tank, analyte: 'alkalinity', value: 12, confirmed: true, key: tank };
      watch.mustTell(tank, new RegExp(`${tank}\\..*above the band`));
      if ((await postJson(`${dying.url}/api/tests`, body)).status === 507) caused += 1;
      await dying.stop();
      const hub = await startRoom(scene, dir, blocks);
      url = hub.url;
      const told = await timeUntil('it is told', () => watch.untold().length === 0).catch(() => undefined);
      if (told !== undefined) recoveryMs.push(told);
      // Whoever got no answer sends it again.
      const again = await postJson(`${hub.url}/api/tests`, body);
      if (again.status !== 201) broken.push(`the same test again is answered ${again.status}`);
      const kept = hub.store.journal({ kind: 'test', system: tank }).length;
      if (kept !== 1) broken.push(`${kept} tests of ${tank}`);
      await watch.hasAnswered();
      url = undefined;
      await hub.stop();
    }
    // Said again with its key is no second alarm.
    const heard = new Set(
      phone
        .events()
        .filter(({ state }) => state === 'raised')
        .map(eventKey),
    ).size;
    return [
      {
        ...{ of: 'alarms of tests that were on disk', caused, stake: times, lost: watch.untold().length },
        ...{ doubled: Math.max(0, heard - times), recoveryMs, broken },
      },
      await watch.row('unjudged'),
    ];
  },
};
