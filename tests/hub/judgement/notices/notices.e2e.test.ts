import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import {
  type Mosquitto,
  type MosquittoSub,
  mosquittoPub,
  mosquittoSub,
  startMosquitto,
} from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const prefix = 'brinekeep';
const systemCount = 50;
const nameOf = (index: number) => `tank-${String(index).padStart(2, '0')}`;
const alarmOf = (index: number) => `${nameOf(index)}/temperature/out_of_band/high`;

/** One board for all tanks of an invented farm: a message holds a temperature for each. */
function startBoard(
  port: number,
  hot: Readonly<Record<number, number>>,
): {
  heat(indices: readonly number[], temperature_C: number): void;
  stop(): Promise<void>;
} {
  const temperatures = Array.from({ length: systemCount }, (_, index) => hot[index] ?? 25.6);
  let isStopped = false;
  let tick = 0;
  const running = (async () => {
    while (!isStopped) {
      tick += 1;
      // The last digit moves as that of any probe does.
      const values = temperatures.map((value, index) => `${nameOf(index)}=${(value + (tick % 3) / 100).toFixed(2)}`);
      await mosquittoPub(port, 'board', values.join(' '), { qos: 0 }).catch(() => {});
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
  })();
  return {
    heat: (indices, temperature_C) => {
      for (const index of indices) temperatures[index] = temperature_C;
    },
    async stop() {
      isStopped = true;
      await running;
    },
  };
}

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub'))(
  'notices on a phone, through a real broker',
  () => {
    const scratch = scratchRoom();
    let broker: Mosquitto;
    let phone: MosquittoSub;
    let board: ReturnType<typeof startBoard>;
    let hub: Hub;

    const everyTank = Array.from({ length: systemCount }, (_, index) => index);
    const sent = (topic: string) =>
      phone
        .lines()
        .map((line) => Buffer.from(line, 'latin1').toString('utf8'))
        .filter((line) => line.startsWith(`0 ${topic} `))
        .map((line) => line.slice(`0 ${topic} `.length));
    const lines = () => sent(`${prefix}/phone`);
    const linesWith = (text: string) => lines().filter((line) => line.includes(text));
    const alarms = () => getJson<StandingAlarm[]>(`${hub.url}/api/alarms`);
    const command = (text: string) => mosquittoPub(broker.port, `${prefix}/command`, text);
    const post = (path: string, body: unknown) =>
      fetch(`${hub.url}${path}`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(body),
      });

    /** @param hot  temperatures of tanks that are not well from the first message on */
    async function start(notices: Record<string, unknown>, hot: Readonly<Record<number, number>> = {}): Promise<void> {
      hub = await startHubHere(
        configOf(
          roomText(scratch.dir, {
            mqtt: { url: `mqtt://127.0.0.1:${broker.port}`, prefix },
            notices,
            systems: everyTank.map((index) => ({
              ...{ id: nameOf(index), name: `Tank ${index}`, volume_l: 400 },
              bands: { temperature: { low: 25, high: 26.5 } },
            })),
            probes: everyTank.map((index) => ({
              ...{ id: nameOf(index), system: nameOf(index), metric: 'temperature' },
              mqtt: { topic: 'board', format: 'key_value', channel: nameOf(index) },
            })),
            rules: [
              { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.02, off_delay_minutes: 0.02 },
              { rule: 'rate', enabled: false },
            ],
          }),
        ),
      );
      board = startBoard(broker.port, hot);
      await waitUntil('all tanks are heard', async () => {
        await command('all well?');
        return linesWith('All is well').some((line) => !line.includes('not heard'));
      });
    }

    beforeEach(async () => {
      broker = await startMosquitto();
      phone = await mosquittoSub(broker.port, `${prefix}/phone/#`, ['-c', '-i', 'phone']);
    });

    afterEach(async () => {
      await board?.stop();
      await hub?.stop();
      await phone?.stop();
      await broker?.stop();
      scratch.remove();
    });

    test(
      'fifty faults at once ring fifty times, or most of them are never spoken of',
      async () => {
        await start({ most_per_hour: 8 });
        board.heat(everyTank, 27.4);
        await waitUntil('the summary', () => linesWith('more alarms in').length > 0, {
          explain: () => lines().join('\n'),
        });
        expect(linesWith('above the band').filter((line) => !line.includes('more alarms'))).toHaveLength(8);
        expect(linesWith('more alarms in')).toHaveLength(1);
        expect(linesWith('more alarms in')[0]).toMatch(
          /^ACT NOW · 42 more alarms in 42 systems. Most urgent: Tank \d+: Temp/,
        );
        // Whoever wants each of them has its retained state, also of those that got no line of their own.
        expect(await alarms()).toHaveLength(50);
        for (const index of [0, 49]) {
          const late = await mosquittoSub(broker.port, `${prefix}/alarms/${alarmOf(index)}`);
          await waitUntil('the retained state', () => late.lines().some((line) => line.includes('"state":"raised"')));
          await late.stop();
        }
        await command('acknowledge all');
        await waitUntil('all are acknowledged', async () =>
          (await alarms()).every(({ state }) => state === 'acknowledged'),
        );
        await waitUntil('whoever asked for it is told', () => linesWith('50 alarms acknowledged').length > 0);
        await command('acknowledge all');
        await waitUntil('that nothing is left, too', () => linesWith('Nothing to acknowledge.').length > 0);
        await command('all well?');
        await waitUntil('an answer', () => linesWith('50 active alarms, 0 unacknowledged').length > 0);
      },
      120_000 * patience(),
    );

    test('it goes on ringing after an acknowledgement, or stops before it; nobody else is called', async () => {
      await start({ repeat_minutes: { high: 0.02 }, escalate_after_minutes: 0.05, most_per_hour: 500 });
      board.heat([3], 27.4);
      await waitUntil('it is said again', () => linesWith('ACT NOW, since').length > 1);
      await waitUntil('somebody else is called', () => sent(`${prefix}/phone/escalated`).length > 0);
      expect(sent(`${prefix}/phone/escalated`)[0]).toMatch(/^ACT NOW, not acknowledged for .* · Tank 3: Temperature/);
      await command(`acknowledge ${alarmOf(3)}`);
      await waitUntil('the hub takes note', async () => (await alarms())[0]?.state === 'acknowledged');
      // What was said just before may still be on its way; an answer that is asked for now comes after it.
      await waitUntil('nothing waits to be said', () => hub.store.outbox('mqtt', 1).length === 0);
      const answers = () => linesWith('1 active alarm: (acknowledged)').length;
      const answered = answers();
      await command('all well?');
      await waitUntil('an answer', () => answers() > answered);
      const before = lines().length;
      board.heat([7], 27.6);
      // As long as another one takes to be said three times, the first is silent.
      await waitUntil('another is said again', () => linesWith('Tank 7').length > 2);
      expect(
        lines()
          .slice(before)
          .filter((line) => line.includes('Tank 3')),
      ).toEqual([]);
      board.heat([3, 7], 25.6);
      await waitUntil('both are told to be over', () => linesWith('Back to normal').length === 2);
      // Who was called is told as well.
      await waitUntil('the end of the first is told there too', () =>
        sent(`${prefix}/phone/escalated`).some((line) => line.startsWith('Back to normal') && line.includes('Tank 3')),
      );
    });

    test('the broker dies during an alarm: its notice is lost, or a pile of reminders comes with it', async () => {
      await start({ repeat_minutes: { high: 0.005 }, most_per_hour: 500 });
      await broker.kill();
      await waitUntil('the hub knows', async () => {
        const health = await getJson<{ edges: { name: string; up: boolean }[] }>(`${hub.url}/health`);
        return health.edges.some(({ name, up }) => name === 'mqtt' && !up);
      });
      await broker.restart();
      board.heat([5], 27.4);
      await waitUntil('the phone is told', () => linesWith('Tank 5').length > 0);
      await broker.kill();
      const told = linesWith('Tank 5').length;
      await waitUntil('the hub knows', async () => {
        const health = await getJson<{ edges: { name: string; up: boolean }[] }>(`${hub.url}/health`);
        return health.edges.some(({ name, up }) => name === 'mqtt' && !up);
      });
      // Away for many of its pauses.
      await new Promise((resolve) => setTimeout(resolve, 3000));
      const waiting = hub.store.outbox('mqtt', 100).filter(({ payload }) => payload.includes('Tank 5'));
      expect(waiting.length).toBeLessThan(3);
      await broker.restart();
      await waitUntil('it is said again', () => linesWith('Tank 5').length > told);
    });

    test('a hub that is started anew tells everything again, or forgets what it told', async () => {
      await start({});
      board.heat([9], 27.4);
      await waitUntil('the phone is told', () => linesWith('Tank 9').length === 1);
      await board.stop();
      await hub.stop();
      // One cool reading between the two would be an end and a new alarm.
      await start({}, { 9: 27.4 });
      await waitUntil('it stands again', async () => (await alarms()).length > 0);
      board.heat([9], 25.6);
      await waitUntil('its end is told', () => linesWith('Back to normal').length > 0);
      expect(linesWith('Tank 9').filter((line) => line.startsWith('ACT NOW ·') && line.includes('above'))).toHaveLength(
        1,
      );
    });

    test('work at the tank rings; a shelved alarm rings; a wrong name is taken without a word', async () => {
      await start({});
      expect((await post('/api/maintenance', { system: nameOf(1), minutes: 30 })).status).toBe(204);
      expect((await post('/api/maintenance', { system: 'nowhere', minutes: 30 })).status).toBe(404);
      expect((await post('/api/maintenance', { system: nameOf(1), probe: nameOf(2), minutes: 30 })).status).toBe(404);
      board.heat([1, 2], 27.4);
      await waitUntil('the other is told', () => linesWith('Tank 2').length > 0);
      expect(linesWith('Tank 1')).toEqual([]);
      expect(
        (await post('/api/alarms/shelve', { alarm: alarmOf(2), minutes: 60, by: 'keeper', why: 'known' })).status,
      ).toBe(204);
      await waitUntil('it is shelved', async () =>
        (await alarms()).some(({ id, state }) => id === alarmOf(2) && state === 'shelved'),
      );
      expect((await post('/api/alarms/shelve', { alarm: 'no/such', minutes: 60 })).status).toBe(404);
      expect((await post('/api/alarms/shelve', { alarm: alarmOf(2), minutes: -1 })).status).toBe(400);
      expect((await post('/api/alarms/unshelve', { alarm: alarmOf(2) })).status).toBe(204);
      await waitUntil('it rings again', () => linesWith('Tank 2').length > 1);
      expect((await post('/api/maintenance/end', { system: nameOf(1) })).status).toBe(204);
      await waitUntil('what still holds after the work is told', () => linesWith('Tank 1').length > 0);
      await command('maintenance nowhere 30');
      await waitUntil('the phone is told', () => linesWith('Not taken (command)').length > 0);
    });

    test('nobody elsewhere can see that the hub is alive', async () => {
      await start({});
      const late = await mosquittoSub(broker.port, `${prefix}/heartbeat`);
      await waitUntil('a retained heartbeat', () =>
        late.lines().some((line) => line.startsWith(`1 ${prefix}/heartbeat `)),
      );
      const beat: unknown = JSON.parse(late.lines()[0]?.slice(`1 ${prefix}/heartbeat `.length) ?? '');
      await late.stop();
      expect(beat).toMatchObject({ time: expect.stringMatching(/^\d{4}-.*Z$/), readings: expect.any(Number) });
    });
  },
);
