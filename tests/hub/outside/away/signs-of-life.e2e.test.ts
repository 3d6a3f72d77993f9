import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { configOf, roomText, scratchRoom, startHubHere, startHubProcess } from '../../../servers/hub-process.ts';
import { mosquittoSub, startMosquitto } from '../../../servers/mosquitto.ts';
import { patience, startProcess, waitUntil } from '../../../servers/server-process.ts';

const hasNoNotify = spawnSync('systemd-notify', ['--version']).error !== undefined;

describe.skipIf(isMissing('socat') || hasNoNotify)('the hub under a service manager', () => {
  const scratch = scratchRoom();

  afterEach(() => {
    delete process.env['NOTIFY_SOCKET'];
    delete process.env['WATCHDOG_USEC'];
    scratch.remove();
  });

  test(
    'it is killed as hung while it works, or is not told of its start and end',
    async () => {
      const path = join(scratch.dir, 'notify.sock');
      const manager = startProcess('socat', ['-u', `UNIX-RECV:${path}`, 'STDOUT']);
      await waitUntil('the socket is there', () => existsSync(path), { explain: manager.log });
      process.env['NOTIFY_SOCKET'] = path;
      process.env['WATCHDOG_USEC'] = '9000000';
      const hub = await startHubProcess(scratch.dir, roomText(scratch.dir));
      await waitUntil('READY', () => manager.log().includes('READY=1'), { explain: hub.log });
      await waitUntil('two signs of life', () => manager.log().split('WATCHDOG=1').length > 2, { explain: hub.log });
      await hub.end('SIGTERM');
      await waitUntil('STOPPING', () => manager.log().includes('STOPPING=1'), { explain: hub.log });
      await manager.end('SIGTERM');
    },
    120_000 * patience(),
  );
});

describe.skipIf(isMissing('mosquitto'))('a hub that was away', () => {
  const scratch = scratchRoom();

  test(
    'nobody is told that the room was not watched for half an hour',
    async () => {
      const broker = await startMosquitto();
      const phone = await mosquittoSub(broker.port, 'brinekeep/phone', ['-c', '-i', 'phone']);
      const never = { from: '00:00', to: '00:00' };
      const config = configOf(
        roomText(scratch.dir, {
          mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
          notices: { quiet_hours: { medium: never, low: never } },
          probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 't', format: 'number' } }],
        }),
      );
      const first = await startHubHere(config);
      await first.stop();
      const soon = await startHubHere(config);
      await soon.stop();
      const later = await startHubHere(
        config,
        hubAdaptersOn({ ...systemClock, nowMs: () => systemClock.nowMs() + 30 * 60_000 }),
      );
      const lines = () => phone.lines().filter((line) => line.includes('The hub itself was away'));
      await waitUntil('the phone is told', () => lines().length > 0);
      expect(lines()).toHaveLength(1);
      expect(lines()[0]).toMatch(/from .* to .* \(3\d min\): it was stopped\. Nobody watched 1 probe in 1 system\./);
      await later.stop();
      await phone.stop();
      await broker.stop();
      scratch.remove();
    },
    120_000 * patience(),
  );
});
