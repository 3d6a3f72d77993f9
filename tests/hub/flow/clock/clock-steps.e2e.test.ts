import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';
import {
  configOf,
  getJson,
  postJson,
  type RoomBlocks,
  roomText,
  scratchRoom,
  startHubHere,
} from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

const startMs = Date.parse('2026-06-01T12:00:00Z');
const secondMs = 1000;
const minuteMs = 60 * secondMs;
const hourMs = 60 * minuteMs;
const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const never = { from: '00:00', to: '00:00' };

const blocks: RoomBlocks = {
  notices: {
    quiet_hours: { medium: never, low: never },
    group_seconds: { high: 0, medium: 0, low: 0 },
    repeat_minutes: { high: 15, medium: 15, low: 15 },
    escalate_after_minutes: 1440,
  },
  probes: [
    { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 't', format: 'number' }, every_seconds: 1 },
  ],
  rules: [
    { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.2, off_delay_minutes: 0.2 },
    { rule: 'rate', enabled: false },
    { rule: 'flat_line', enabled: false },
  ],
};

describe('a room whose clock is not to be trusted', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let hub: Hub | undefined;
  let probe: MqttClient | undefined;
  let lines: string[];
  let sent: number;
  let taken: number;

  beforeEach(() => {
    scratch = scratchRoom();
    lines = [];
    sent = 0;
    taken = 0;
  });
  afterEach(async () => {
    await stop();
    scratch.remove();
  });

  async function start(clock: ManualClock, more: RoomBlocks = {}): Promise<void> {
    const adapters = hubAdaptersOn(clock);
    hub = await startHubHere(configOf(roomText(scratch.dir, { ...blocks, ...more })), {
      ...adapters,
      createLink: (choice, subscriptions, sink, ...rest) =>
        adapters.createLink(
          choice,
          subscriptions,
          {
            ...sink,
            accept(observations) {
              const done = sink.accept(observations);
              taken += observations.length;
              return done;
            },
          },
          ...rest,
        ),
    });
    probe = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    probe.on('message', (_topic, payload) => lines.push(payload.toString('utf8')));
    await probe.subscribeAsync('brinekeep/phone');
  }

  async function stop(): Promise<void> {
    await probe?.endAsync();
    await hub?.stop();
    probe = undefined;
    hub = undefined;
  }

  const kept = () => hub?.store.readings(series, 0, Number.MAX_SAFE_INTEGER) ?? [];
  const events = () =>
    (hub?.store.journal({ kind: 'note' }) ?? [])
      .map(({ body }) => String(body['event']))
      .filter((event) => event.startsWith('clock'));

  /** A reading each second by the manual clock, each taken in before the next. */
  async function speak(clock: ManualClock, count: number, value: number): Promise<void> {
    for (let done = 1; done <= count; done += 1) {
      clock.advance(secondMs);
      await probe?.publishAsync('t', (value + (done % 3) / 100).toFixed(2), { qos: 1 });
      sent += 1;
      while (taken < sent) await new Promise((resolve) => setImmediate(resolve));
    }
  }

  test(
    'a board that wakes in 1970 raises no alarm, or loses, doubles or misdates what its probes said',
    async () => {
      const first = createManualClock(startMs);
      await start(first);
      await speak(first, 3, 25.5);
      await stop();

      const woken = createManualClock(0);
      await start(woken);
      await speak(woken, 16, 28);
      await waitUntil('the phone is told', () => lines.length > 0, { explain: () => lines.join('\n') });
      expect(lines[0]).toMatch(/^Clock not set · .*Display tank/);
      expect(kept()).toHaveLength(3);
      expect(hub?.store.latest(series)?.value).toBeCloseTo(28.01, 5);

      const nowMs = startMs + 8 * hourMs;
      woken.step(nowMs - woken.nowMs());
      await speak(woken, 2, 28);
      await waitUntil('all is stored', () => kept().length === sent, { explain: () => JSON.stringify(kept()) });
      const late = kept().slice(3);
      expect(late.map(({ timeMs }) => timeMs)).toEqual(late.map((_, index) => nowMs + (index - 15) * secondMs));
      await waitUntil('the journal knows', () => events().includes('clock_set'));
      const [alarm] = await getJson<{ sinceMs: number }[]>(`${hub?.url}/api/alarms`);
      expect(alarm?.sinceMs).toBeGreaterThan(nowMs - minuteMs);
      // The absence of the night is told when the time is known, and once.
      await waitUntil('the absence is told', () => lines.some((line) => line.includes('The hub itself was away')));
    },
    60_000 * patience(),
  );

  test(
    'hours that the clock jumps forward and back lose readings, raise silent probes, or fire delays early',
    async () => {
      const clock = createManualClock(startMs);
      await start(clock);
      await speak(clock, 10, 25.5);
      clock.step(3 * hourMs);
      await speak(clock, 10, 25.5);
      clock.step(-3 * hourMs);
      await speak(clock, 5, 25.5);
      // Back over its own readings, to the very millisecond.
      clock.step(-10 * secondMs);
      await speak(clock, 8, 25.5);
      expect(hub?.store.latest(series)?.timeMs).toBe(clock.nowMs() + 1);
      await waitUntil('all steps are written down', () => events().length === 3);
      expect(events()).toEqual(['clock_stepped', 'clock_stepped', 'clock_stepped']);
      hub?.store.flush();
      expect(kept()).toHaveLength(sent);
      expect(new Set(kept().map(({ timeMs }) => timeMs)).size).toBe(sent);

      // On-delay of 12 s: a step within it neither ends it nor starts it anew.
      await speak(clock, 6, 28);
      clock.step(5 * minuteMs);
      await speak(clock, 5, 28);
      expect(await getJson(`${hub?.url}/api/alarms`)).toEqual([]);
      await speak(clock, 3, 28);
      expect(await getJson(`${hub?.url}/api/alarms`)).toHaveLength(1);
      const metrics = await (await fetch(`${hub?.url}/metrics`)).text();
      expect(metrics).toContain('brinekeep_clock_steps_total{direction="forward"} 2');
      expect(metrics).toContain('brinekeep_clock_steps_total{direction="back"} 2');
    },
    60_000 * patience(),
  );

  test(
    'a step of the clock repeats a notice at once, or keeps it from being repeated for hours',
    async () => {
      const clock = createManualClock(startMs);
      await start(clock);
      await speak(clock, 16, 28);
      await waitUntil('it is told', () => lines.length === 1);
      clock.step(3 * hourMs);
      await speak(clock, 3, 28);
      expect(lines).toHaveLength(1);
      clock.step(-3 * hourMs);
      await speak(clock, 3, 28);
      expect(lines).toHaveLength(1);
      for (let minute = 0; minute < 15; minute += 1) {
        clock.advance(minuteMs - secondMs);
        await speak(clock, 1, 28);
      }
      await waitUntil('it is said again', () => lines.length === 2, { explain: () => lines.join('\n') });
    },
    60_000 * patience(),
  );

  test(
    'a soak is called over by a step of the clock, or its end is put off by hours',
    async () => {
      const protocols = join(scratch.dir, 'protocols');
      mkdirSync(protocols);
      writeFileSync(
        join(protocols, 'quick.yaml'),
        'id: quick\nname: Quick dip (invented)\nsteps:\n  - {step: dip_bath, tank_share: 1}\n  - {step: soak, minutes: 5, most_minutes: 8}\n  - {step: swirl_and_rinse_off}\n',
      );
      const clock = createManualClock(startMs);
      await start(clock, { protocols_dir: protocols });
      for (const [path, body] of [
        ['/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date(startMs).toISOString() }],
        ['/api/arrivals/a1/runs', { protocol: 'quick' }],
        ['/api/runs/a1-1/done', {}],
        ['/api/runs/a1-1/timer', {}],
      ] as const) {
        const response = await postJson(`${hub?.url}${path}`, body);
        expect(response.ok, await response.clone().text()).toBe(true);
      }
      const ends = async () =>
        Date.parse((await getJson<{ timer: { ends: string } }>(`${hub?.url}/api/runs/a1-1`)).timer.ends);
      const calls = () => lines.filter((line) => line.includes('soak'));
      for (const stepMs of [3 * hourMs, -3 * hourMs, -2 * hourMs]) {
        clock.step(stepMs);
        expect((await ends()) - clock.nowMs()).toBe(5 * minuteMs);
      }
      await new Promise((resolve) => setTimeout(resolve, 1200));
      expect(calls()).toEqual([]);
      clock.advance(5 * minuteMs);
      await waitUntil('the soak is called over', () => calls().length > 0, { explain: () => lines.join('\n') });
    },
    60_000 * patience(),
  );
});
