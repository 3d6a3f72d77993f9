import { type FileHandle, open } from 'node:fs/promises';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { isMissing } from '../../machine/parts.mjs';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import {
  type Mosquitto,
  type MosquittoSub,
  mosquittoPub,
  mosquittoSub,
  startMosquitto,
} from '../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { type PtyPair, startPtyPair } from '../../servers/socat.ts';

/** Seconds where a real room has minutes, so that the whole way is walked in a test. */
const shortDelays = { on_delay_minutes: 0.02, off_delay_minutes: 0.02 };
const prefix = 'brinekeep';
const alarmId = 'display/temperature/out_of_band/high';

/** A board on a bad cable: garbage between its good lines, never in them. */
function startBoard(line: FileHandle): { show(temperature_C: number): void; stop(): void } {
  let temperature_C = 25.6;
  let tick = 0;
  const garbage = [
    Buffer.from([0xff, 0xfe, 0x00, 0x80, 0x9b, 0x0a]),
    Buffer.from('t=\n'),
    Buffer.from('t=2x.6 ph\n'),
    Buffer.from('t=NaN\n'),
    Buffer.from(`${'U'.repeat(400)}\n`),
  ];
  const timer = setInterval(() => {
    tick += 1;
    const noise = garbage[tick % garbage.length] ?? Buffer.alloc(0);
    // The last digit moves as that of any probe does.
    const good = Buffer.from(`t=${(temperature_C + (tick % 3) / 100).toFixed(2)} ph=8.12\n`);
    line.write(Buffer.concat([noise, good])).catch(() => {});
  }, 100);
  return {
    show(value) {
      temperature_C = value;
    },
    stop: () => clearInterval(timer),
  };
}

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub') || isMissing('socat'))(
  'from a probe on a serial line to a phone at an outside broker',
  { timeout: 60_000 * patience() },
  () => {
    const scratch = scratchRoom();
    let pty: PtyPair;
    let broker: Mosquitto;
    let line: FileHandle;
    let board: ReturnType<typeof startBoard>;
    let hub: Hub;
    let phone: MosquittoSub;

    /** What was received on a topic. The starter reads bytes as latin1, people read UTF-8. */
    const payloads = (from: MosquittoSub, start: string) =>
      from
        .lines()
        .filter((each) => each.startsWith(start))
        .map((each) => Buffer.from(each.slice(start.length), 'latin1').toString('utf8'));
    const phoneLines = () => payloads(phone, `0 ${prefix}/phone `);
    const linesWith = (text: string) => phoneLines().filter((each) => each.includes(text));
    /** State of the temperature's alarm; undefined when it does not stand. Tests raise others. */
    const alarmNow = async () =>
      (await getJson<StandingAlarm[]>(`${hub.url}/api/alarms`)).find(({ id }) => id === alarmId);
    const stateNow = async () => (await alarmNow())?.state;

    /** What somebody who connects only now is given of the alarm. */
    async function retainedState(): Promise<Record<string, unknown>> {
      const late = await mosquittoSub(broker.port, `${prefix}/alarms/#`);
      const found = () => payloads(late, `1 ${prefix}/alarms/${alarmId} `)[0];
      await waitUntil('the retained state of the alarm', () => found() !== undefined);
      await late.stop();
      return JSON.parse(found() ?? '') as Record<string, unknown>;
    }

    async function untilRetained(state: string): Promise<Record<string, unknown>> {
      let last: Record<string, unknown> = {};
      await waitUntil(
        `a retained state ${state}`,
        async () => {
          last = await retainedState();
          return last['state'] === state;
        },
        { explain: () => JSON.stringify(last) },
      );
      return last;
    }

    beforeAll(async () => {
      [pty, broker] = await Promise.all([startPtyPair(), startMosquitto()]);
      line = await open(pty.b, 'r+');
      const config = configOf(
        roomText(scratch.dir, {
          mqtt: { url: `mqtt://127.0.0.1:${broker.port}`, prefix },
          serial: [{ id: 'board', path: pty.a, baud: 9600, format: 'key_value' }],
          probes: [
            {
              id: 'display-temperature',
              system: 'display',
              metric: 'temperature',
              serial: { port: 'board', channel: 't' },
            },
          ],
          rules: [{ rule: 'out_of_band', metric: 'temperature', ...shortDelays }],
        }),
      );
      // A phone keeps its session, so that what was said while its own connection was broken still comes.
      phone = await mosquittoSub(broker.port, `${prefix}/phone`, ['-c', '-i', 'phone']);
      hub = await startHubHere(config);
      board = startBoard(line);
    });

    afterAll(async () => {
      board?.stop();
      await hub?.stop();
      await phone?.stop();
      await line?.close();
      await pty?.stop();
      await broker?.stop();
      scratch.remove();
    });

    test('garbage on the cable hides the good readings, or passes for one', async () => {
      type Room = {
        systems: { metrics: { metric: string; value: number | null; day: { min: number; max: number }[] }[] }[];
      };
      let seen: Room['systems'][number]['metrics'][number] | undefined;
      await waitUntil('a value from the board', async () => {
        const room = await getJson<Room>(`${hub.url}/api/room`);
        seen = room.systems[0]?.metrics.find((each) => each.metric === 'temperature');
        return typeof seen?.value === 'number' && seen.day.length > 0;
      });
      expect(seen?.value).toBeCloseTo(25.61, 1);
      for (const { min, max } of seen?.day ?? []) {
        expect(min).toBeGreaterThanOrEqual(25.6);
        expect(max).toBeLessThanOrEqual(25.62);
      }
      await waitUntil('the garbage is counted', async () => {
        const { readings } = await getJson<{ readings: Record<string, number> }>(`${hub.url}/health`);
        const bad = Object.keys(readings).filter((name) => name.startsWith('serial:board '));
        return bad.some((name) => name.endsWith('too_long')) && bad.some((name) => name.endsWith('malformed'));
      });
    });

    test('the tank overheats and the phone stays silent, or is given more than a lock screen shows', async () => {
      board.show(27.4);
      await waitUntil('the phone is told', () => linesWith('above the band').length > 0, {
        explain: () => broker.log(),
      });
      const [told] = linesWith('above the band');
      expect([...(told ?? '')].length).toBeLessThanOrEqual(180);
      expect(told).toContain('Display tank');
      expect(told).toMatch(/27\.4\d °C/);
      expect(await untilRetained('raised')).toMatchObject({
        ...{ alarm: alarmId, occurrence: 1, system: 'display', metric: 'temperature', unit: '°C' },
        ...{ rule: 'out_of_band', priority: 'high' },
      });
      expect(await stateNow()).toBe('unacknowledged');
    });

    test('an alarm that was acknowledged on the phone goes on asking', async () => {
      await mosquittoPub(broker.port, `${prefix}/command`, `acknowledge ${alarmId}`);
      await waitUntil('the hub takes note', async () => (await stateNow()) === 'acknowledged');
      expect(await untilRetained('acknowledged')).toMatchObject({ alarm: alarmId, occurrence: 1, by: 'phone' });
    });

    test('a command for an alarm that does not stand vanishes without a word', async () => {
      await mosquittoPub(broker.port, `${prefix}/command`, '{"do":"acknowledge","alarm":"display/ph/out_of_band/low"}');
      await waitUntil('the phone is told', () => linesWith('Not taken (command)').length > 0);
      await mosquittoPub(broker.port, `${prefix}/command`, '{"do":"open_the_valve"}');
      await waitUntil('the phone is told again', () => linesWith('Not taken (command)').length > 1);
      for (const each of linesWith('Not taken')) expect([...each].length).toBeLessThanOrEqual(180);
    });

    test('the water is well again and nobody is told', async () => {
      board.show(25.7);
      await waitUntil('the phone is told', () => linesWith('Back to normal').length > 0);
      expect(await untilRetained('cleared')).toMatchObject({ alarm: alarmId, occurrence: 1 });
      expect(await stateNow()).toBeUndefined();
    });

    test('a test typed on the phone is lost', async () => {
      const given = { system: 'display', analyte: 'alkalinity', value: 3.0, unit: 'meq/L', by: 'phone', key: 'k1' };
      await mosquittoPub(broker.port, `${prefix}/enter/test`, JSON.stringify(given));
      await mosquittoPub(broker.port, `${prefix}/enter/test`, JSON.stringify(given));
      type Entry = { kind: string; body: { value: number; given_unit: string } };
      const entries = () => getJson<Entry[]>(`${hub.url}/api/entries?kind=test`);
      await waitUntil('the entry is there', async () => (await entries()).length > 0);
      // 1 meq/L = 2.80385 dKH: fixtures/reference/unit-conversions.csv.
      const [only, ...others] = await entries();
      expect(only?.body.value).toBeCloseTo(3 * 2.80385, 4);
      expect(only?.body.given_unit).toBe('meq/L');
      expect(others).toEqual([]);
      // In the words of the command line: the value and its unit.
      await waitUntil('the phone is told what was saved', () => linesWith('Saved: alkalinity 3 meq/L').length > 0);
    });

    test('a test in the wrong unit is dropped and the keeper believes it was taken', async () => {
      const bad = { system: 'display', analyte: 'alkalinity', value: 144, unit: 'dKH' };
      await mosquittoPub(broker.port, `${prefix}/enter/test`, JSON.stringify(bad));
      await waitUntil('the phone is asked', () => linesWith('Not saved').length === 1);
      expect(linesWith('Not saved')[0]).toMatch(
        /Did you mean 8\.07 dKH \(144 mg\/L CaCO3\)\? Send that, or add "confirmed":true\.$/,
      );
      await mosquittoPub(broker.port, `${prefix}/enter/test`, 'alkalinity 8.2');
      await waitUntil('the phone is told', () => linesWith('need JSON').length > 0);
      expect(await getJson<unknown[]>(`${hub.url}/api/entries?kind=test`)).toHaveLength(1);
    });

    test('the broker dies while the tank overheats, and the notice is lost or comes twice', async () => {
      const raisedBefore = linesWith('above the band').length;
      await broker.kill();
      board.show(27.8);
      await waitUntil('the hub itself knows', async () => (await stateNow()) === 'unacknowledged');
      await broker.restart();
      await waitUntil('the phone is told', () => linesWith('above the band').length > raisedBefore);
      expect(await untilRetained('raised')).toMatchObject({ alarm: alarmId, occurrence: 2 });
      board.show(25.7);
      // Twice within hours is an alarm that comes and goes: it says that the value is back, and stays until it has stayed away.
      await waitUntil('the page says that it is back', async () =>
        /is back.*comes and goes/.test((await alarmNow())?.message ?? ''),
      );
      await mosquittoPub(broker.port, `${prefix}/command`, 'all well?');
      await waitUntil('the hub answers', () => linesWith('comes and goes').length > 0);
      // Notices go out in order, so a repeat of the first would be here by now.
      expect(linesWith('above the band')).toHaveLength(raisedBefore + 1);
      expect(linesWith('Back to normal')).toHaveLength(1);
    });
  },
);
