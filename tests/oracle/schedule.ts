import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { createManualClock } from '../adapters/clock/manual-clock.ts';
import { configOf, roomText } from '../servers/hub-process.ts';
import { type BrokerMood, createBrokerModel } from './broker-model.ts';
import { createLineOfReadings } from './line-of-readings.ts';
import { Killed, type Planted, type SmallHub, startSmallHub } from './small-hub.ts';
import { createExpectations, type Episode, isAbout, isEnd, type Watched } from './what-must-be-told.ts';

/** One step of a history: what is put in, what goes wrong, and time. */
export type Step =
  | { do: 'water'; temperature_C: number }
  | { do: 'test'; alkalinity_dKH: number }
  | { do: 'acknowledge' }
  | { do: 'kill'; atSeam: number }
  | { do: 'stop' }
  | { do: 'broker'; mood: BrokerMood }
  | { do: 'forget' }
  | { do: 'phone'; is: 'away' | 'back' }
  | { do: 'flood'; seconds: number }
  | { do: 'wait'; seconds: number };

const moods: BrokerMood[] = ['well', 'away', 'silent', 'refuses_states', 'hangs_up_on_states'];

const steps: fc.Arbitrary<Step> = fc.oneof(
  fc.record({ do: fc.constant('water' as const), temperature_C: fc.constantFrom(25.6, 27.5, 23.9) }),
  fc.record({ do: fc.constant('test' as const), alkalinity_dKH: fc.constantFrom(8.2, 12, 6) }),
  fc.record({ do: fc.constant('acknowledge' as const) }),
  fc.record({ do: fc.constant('kill' as const), atSeam: fc.integer({ min: 0, max: 12 }) }),
  fc.record({ do: fc.constant('stop' as const) }),
  fc.record({ do: fc.constant('broker' as const), mood: fc.constantFrom(...moods) }),
  fc.record({ do: fc.constant('forget' as const) }),
  fc.record({ do: fc.constant('phone' as const), is: fc.constantFrom('away' as const, 'back' as const) }),
  fc.record({ do: fc.constant('flood' as const), seconds: fc.constantFrom(30, 240) }),
  { weight: 3, arbitrary: fc.record({ do: fc.constant('wait' as const), seconds: fc.constantFrom(1, 15, 70, 240) }) },
);

const quiet = { from: '00:00', to: '00:00' };
const config = configOf(
  roomText('/nowhere', {
    notices: {
      ...{ most_per_hour: 1000, group_seconds: { high: 0, medium: 0, low: 0 } },
      // Nothing that was lost comes by the usual repeat.
      repeat_minutes: { high: 1440, medium: 1440, low: 1440 },
      quiet_hours: { medium: quiet, low: quiet },
    },
    probes: [{ id: 't', system: 'display', metric: 'temperature', every_seconds: 5, mqtt: { topic: 'tank/t' } }],
    rules: [
      { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0, off_delay_minutes: 0, deadband: 0 },
      ...['rate', 'flat_line', 'swing', 'silent_probe'].map((rule) => ({ rule, enabled: false })),
    ],
  }),
);

const startMs = Date.UTC(2026, 2, 10, 12);
const tickMs = 10_000;
/** After the last fault: what was refused is offered again within ten minutes. */
const healsWithinMs = 12 * 60_000;
const lastsMs = 7 * 60_000;
/** One that should be with the phone by now. */
const lateMs = 3 * 60_000;
const topicOf: Record<Watched, (side: string) => string> = {
  temperature: (side) => `brinekeep/alarms/display/temperature/out_of_band/${side}`,
  alkalinity: (side) => `brinekeep/alarms/display/alkalinity/out_of_band/${side}/test`,
};

/** Lets what awaits a promise go on. */
const settled = () => new Promise((resolve) => setImmediate(resolve));

/** Plays a history and gives what was wrong with what was told, in sentences; none when all is well. */
export async function complaintsAbout(history: readonly Step[], planted?: Planted): Promise<string[]> {
  const folder = mkdtempSync(join(tmpdir(), 'brinekeep-oracle-'));
  const clock = createManualClock(startMs);
  const broker = createBrokerModel(clock.nowMs);
  const expected = createExpectations();
  const complaints: string[] = [];
  const line = createLineOfReadings(clock.monotonicMs, planted !== 'flood_unbounded');
  const timers = new Set<{ atMs: number; work(): void }>();
  let files = 0;
  let seamsLeft: number | undefined;
  let temperature_C = 25.6;
  let lastForgottenMs = Number.NEGATIVE_INFINITY;
  let path = join(folder, '0.db');

  const start = () =>
    startSmallHub({
      ...{ planted, config, path, clock, broker },
      seam() {
        if (seamsLeft === undefined) return;
        seamsLeft -= 1;
        if (seamsLeft < 0) throw new Killed();
      },
      after(ms, work) {
        const timer = { atMs: clock.monotonicMs() + ms, work };
        timers.add(timer);
        return () => void timers.delete(timer);
      },
    });
  let hub: SmallHub = start();
  hub.linkIsBack(false);

  /** A process that was killed leaves its files as they lie; the next finds them so. */
  function reviveIfDead(): void {
    if (!hub.isDead()) return;
    seamsLeft = undefined;
    timers.clear();
    line.drop();
    files += 1;
    const next = join(folder, `${files}.db`);
    for (const suffix of ['', '-wal']) if (existsSync(path + suffix)) copyFileSync(path + suffix, next + suffix);
    hub.leave();
    path = next;
    hub = start();
    if (broker.isUp()) hub.linkIsBack(false);
  }

  /** @returns whether the hub lived through it */
  async function act(work: () => void): Promise<boolean> {
    try {
      work();
      hub.endTurn();
    } catch (error) {
      if (!(error instanceof Killed) && !hub.isDead()) throw error;
    }
    await settled();
    await settled();
    const hasLived = !hub.isDead();
    reviveIfDead();
    return hasLived;
  }

  async function read(): Promise<void> {
    const nowMs = clock.nowMs();
    const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
    const value = temperature_C + (nowMs % 3) / 100;
    expected.put('temperature', value, nowMs, false);
    line.say(value, nowMs);
    for (const reading of line.next()) {
      const quality = { flag: 'pass', value: reading.value } as const;
      const offered = { series, timeMs: reading.atMs, quality };
      if (await act(() => hub.watch.offer({ is: 'reading', reading: offered }, clock.nowMs())))
        expected.sure('temperature', reading.atMs);
    }
  }

  async function pass(ms: number): Promise<void> {
    for (let passed = 0; passed < ms; passed += tickMs) {
      clock.advance(tickMs);
      for (const timer of [...timers]) {
        if (timer.atMs > clock.monotonicMs()) continue;
        timers.delete(timer);
        await act(timer.work);
      }
      if (!broker.isUp()) await act(() => hub.linkIsDown());
      const link = broker.tick();
      if (link !== 'same') await act(() => hub.linkIsBack(link === 'back_forgotten'));
      line.pass(tickMs);
      await read();
      await act(() => hub.tick(clock.nowMs() % 60_000 === 0));
      noteSilence();
    }
  }

  const wasHeard = (episode: Episode) =>
    broker.heard.some(({ line, atMs }) => atMs >= episode.fromMs && !isEnd(line) && isAbout(episode, line));

  /**
   * While a fault lasts: an alarm goes past what is refused, and where nothing is acknowledged the health page says so. Both within
   * minutes.
   */
  function noteSilence(): void {
    const [inLineSinceMs, hot] = [line.oldestMs(), expected.open('temperature')];
    const isInLine = inLineSinceMs !== undefined && hot !== undefined && hot.fromMs >= inLineSinceMs;
    if (isInLine && clock.nowMs() - hot.fromMs > lateMs) complaints.push('an alarm waits behind a flood');
    const isLate = expected.episodes.some(
      (each) =>
        each.toMs === undefined &&
        each.isSure &&
        clock.nowMs() - each.fromMs > lateMs &&
        !wasHeard(each) &&
        !expected.needNotRing(each, wasHeard, clock.nowMs()),
    );
    if (!isLate || broker.steadyForMs() <= lateMs) return;
    if (broker.mood() === 'silent' && hub.causes().length === 0)
      complaints.push('an alarm is not told, and health says ok');
    if (broker.mood() === 'refuses_states' || broker.mood() === 'hangs_up_on_states')
      complaints.push('an alarm is held up by what is refused');
  }

  async function take(step: Step): Promise<void> {
    switch (step.do) {
      case 'water':
        temperature_C = step.temperature_C;
        // Two readings of one moment are one.
        clock.advance(1000);
        return await read();
      case 'test': {
        const nowMs = clock.nowMs();
        const before = hub.real.journal({ kind: 'test' }).length;
        const entry = {
          system: 'display',
          analyte: 'alkalinity' as const,
          value: step.alkalinity_dKH,
          confirmed: true,
        };
        const hasLived = await act(() => void hub.entries.test(entry, nowMs));
        // On disk or not: what is on disk counts, answered or not.
        if (hub.real.journal({ kind: 'test' }).length > before)
          expected.put('alkalinity', step.alkalinity_dKH, nowMs, hasLived);
        clock.advance(1000);
        return;
      }
      case 'acknowledge': {
        const open = expected.episodes.filter((each) => each.toMs === undefined && wasHeard(each));
        for (const episode of open) {
          const alarm = hub.watch
            .standing(clock.nowMs())
            .find(({ id }) => topicOf[episode.what](episode.side).endsWith(id));
          if (alarm === undefined) continue;
          const command = { do: 'acknowledge', alarm: alarm.id, by: 'phone' } as const;
          if (await act(() => hub.watch.offer({ is: 'command', command }, clock.nowMs())))
            episode.isAcknowledged = true;
        }
        return;
      }
      case 'kill':
        seamsLeft = step.atSeam;
        return;
      case 'stop':
        await act(() => hub.watch.keepAll(clock.nowMs()));
        hub.leave();
        timers.clear();
        line.drop();
        hub = start();
        if (broker.isUp()) hub.linkIsBack(false);
        return;
      case 'broker':
        return broker.be(step.mood);
      case 'forget':
        lastForgottenMs = clock.nowMs();
        return broker.forget();
      case 'phone':
        return step.is === 'away' ? broker.phoneLeaves() : broker.phoneReturns();
      case 'flood':
        return line.flood(step.seconds * 1000);
      case 'wait':
        return await pass(step.seconds * 1000);
    }
  }

  try {
    for (const step of history) await take(step);
    // The last fault lasts for a while, and then all are over.
    await pass(lastsMs);
    seamsLeft = undefined;
    broker.be('well');
    broker.phoneReturns();
    await pass(healsWithinMs);
    complaints.push(...judged());
    return [...new Set(complaints)];
  } finally {
    hub.leave();
    rmSync(folder, { recursive: true, force: true });
  }

  function judged(): string[] {
    const wrong: string[] = [];
    for (const episode of expected.episodes) {
      const name = `${episode.what} ${episode.side} from second ${(episode.fromMs - startMs) / 1000}`;
      const isOver = episode.toMs !== undefined;
      const mayBeLost = isOver && (!episode.isSure || lastForgottenMs >= episode.fromMs);
      const isDue = !mayBeLost && !episode.isAcknowledged && !expected.needNotRing(episode, wasHeard, clock.nowMs());
      if (isDue && !wasHeard(episode)) wrong.push(`never told: ${name}`);
      const state = broker.retained.get(topicOf[episode.what](episode.side))?.state;
      if (!isOver && (state === undefined || state === 'cleared'))
        wrong.push(`its topic is silent: ${name} (${state})`);
    }
    for (const what of ['temperature', 'alkalinity'] as const) {
      const side = expected.open(what)?.side;
      for (const other of (['high', 'low'] as const).filter((each) => each !== side)) {
        const state = broker.retained.get(topicOf[what](other))?.state;
        if (expected.comesAndGoes(what, other)) continue;
        if (state !== undefined && state !== 'cleared') wrong.push(`its topic still says ${state}: ${what} ${other}`);
      }
    }
    for (const { line } of broker.heard)
      if (!expected.episodes.some((episode) => isAbout(episode, line)) && !isEnd(line)) wrong.push(`made up: ${line}`);
    return wrong;
  }
}

export const histories = fc.array(steps, { minLength: 1, maxLength: 14 });
