import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Command, Evidence } from '#rules/bands/evidence.ts';
import { alarmsOf, emptyRoomState, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { Quality } from '#rules/quality/reading.ts';
import { minuteMs, mondayMs } from './script.ts';

/**
 * Random histories of one tank: good, bad and missing readings, people at the buttons, restarts, a clock that steps. The
 * model beside them knows only what was told, never how the rules remember it.
 */

const high = 'tank/temperature/out_of_band/high';
const low = 'tank/temperature/out_of_band/low';
const silent = 'tank/temperature/silent_probe';
const rules = rulesForRoom({
  systems: [
    {
      id: 'tank',
      name: 'Tank',
      volumeL: 400,
      bands: { temperature: { low: 25, high: 26.5, mostPerHour: 0.8, mostPerDay: 1 } },
      probes: [{ id: 'thermometer', metric: 'temperature', everyMs: minuteMs }],
    },
  ],
  overrides: [],
});

type Action =
  | { do: 'read'; flag: Quality['flag']; value: number; times: number }
  | { do: 'wait'; minutes: number }
  | { do: 'order'; command: (nowMs: number) => Command; name: string }
  | { do: 'restart' }
  | { do: 'clock'; byMinutes: number };

const order = (name: string, command: (nowMs: number) => Command): Action => ({ do: 'order', name, command });

const action: fc.Arbitrary<Action> = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.record({
      do: fc.constant('read' as const),
      flag: fc.constantFrom<Quality['flag']>('pass', 'pass', 'pass', 'not_evaluated', 'suspect', 'fail', 'missing'),
      // Inside, in both deadbands, on the edges and outside.
      value: fc.constantFrom(25.75, 25.8, 25, 25.05, 24.8, 26.5, 26.45, 26.8, 30),
      times: fc.constantFrom(1, 1, 3, 6, 12, 30),
    }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('wait' as const), minutes: fc.constantFrom(1, 3, 8, 30, 240) }) },
  {
    weight: 3,
    arbitrary: fc
      .record({ alarm: fc.constantFrom(high, low, silent, 'tank/none'), minutes: fc.constantFrom(-5, 3, 60, 100_000) })
      .chain(({ alarm, minutes }) =>
        fc.constantFrom(
          order('acknowledge', () => ({ do: 'acknowledge', alarm, by: 'keeper' })),
          order('shelve', (now) => ({ do: 'shelve', alarm, untilMs: now + minutes * minuteMs, by: 'keeper' })),
          order('unshelve', () => ({ do: 'unshelve', alarm, by: 'keeper' })),
          order('maintain', (now) => ({
            do: 'maintenance',
            system: 'tank',
            untilMs: now + minutes * minuteMs,
            by: 'keeper',
          })),
          order('end', () => ({ do: 'end_maintenance', system: 'tank', by: 'keeper' })),
        ),
      ),
  },
  { weight: 1, arbitrary: fc.constant<Action>({ do: 'restart' }) },
  {
    weight: 1,
    arbitrary: fc.record({
      do: fc.constant('clock' as const),
      byMinutes: fc.constantFrom(-1500, -61, -2, 5, 61, 1500),
    }),
  },
);

const history = fc.array(action, { minLength: 5, maxLength: 40 });

class Tank {
  state: RoomState = emptyRoomState();
  nowMs = mondayMs;
  events: AlarmEvent[] = [];
  /** Alarms that were raised and not cleared, by what was told alone. */
  standing = new Set<string>();
  keys = new Set<string>();
  restartsOften = false;
  /** The last value that could be trusted. */
  trusted: number | undefined;

  offer(evidence: Evidence): void {
    if (this.restartsOften) this.restart();
    const result = stepRoom(rules, this.state, evidence, this.nowMs);
    this.state = result.state;
    for (const event of result.events) this.told(event);
  }

  restart(): void {
    this.state = JSON.parse(JSON.stringify(this.state)) as RoomState;
  }

  told(event: AlarmEvent): void {
    this.events.push(event);
    const key = `${event.alarm} ${event.occurrence} ${event.state}`;
    if (this.keys.has(key)) throw new Error(`told twice: ${key}`);
    this.keys.add(key);
    if (event.state === 'raised') {
      if (this.standing.has(event.alarm)) throw new Error(`raised while it stands: ${key}`);
      this.standing.add(event.alarm);
    }
    if (event.state === 'reraised' && !this.standing.has(event.alarm))
      throw new Error(`raised again from nothing: ${key}`);
    if (event.state === 'cleared') {
      if (!this.standing.delete(event.alarm)) throw new Error(`cleared and never raised: ${key}`);
      const value = this.trusted ?? Number.NaN;
      if (event.alarm === high && !(value <= 26.5)) throw new Error(`cleared on ${value}: ${key}`);
      if (event.alarm === low && !(value >= 25)) throw new Error(`cleared on ${value}: ${key}`);
    }
  }

  read(flag: Quality['flag'], value: number): void {
    const quality: Quality =
      flag === 'missing'
        ? { flag, why: 'test' }
        : flag === 'fail'
          ? { flag, raw: value, why: 'test' }
          : { flag, value };
    if (flag === 'pass' || flag === 'not_evaluated') this.trusted = value;
    const series = { system: 'tank', metric: 'temperature' as const, probe: 'thermometer' };
    this.offer({ is: 'reading', reading: { series, timeMs: this.nowMs, quality } });
  }

  pass(minutes: number): void {
    for (let minute = 0; minute < minutes; minute += 1) {
      this.nowMs += minuteMs;
      this.offer({ is: 'time' });
    }
  }

  readSteadily(value: number, minutes: number): void {
    for (let minute = 0; minute < minutes; minute += 1) {
      this.pass(1);
      // A living probe never shows one exact number for hours.
      this.read('pass', value + 0.01 * (minute % 3));
    }
  }

  live(actions: readonly Action[]): void {
    for (const one of actions) {
      if (one.do === 'read') {
        for (let i = 0; i < one.times; i += 1) {
          this.pass(1);
          this.read(one.flag, one.value);
        }
      } else if (one.do === 'wait') this.pass(one.minutes);
      else if (one.do === 'order') this.offer({ is: 'command', command: one.command(this.nowMs) });
      else if (one.do === 'restart') this.restart();
      else this.nowMs += one.byMinutes * minuteMs;
      this.agrees();
    }
  }

  /** The list that people see holds exactly what was told to stand. */
  agrees(): void {
    const listed = alarmsOf(rules, this.state, this.nowMs);
    for (const alarm of this.standing) {
      expect(listed.some(({ id, isStanding, occurrence }) => id === alarm && isStanding && occurrence > 0)).toBe(true);
    }
    for (const { id, state } of listed) {
      if (state === 'unacknowledged' || state === 'acknowledged') expect(this.standing.has(id)).toBe(true);
    }
  }

  /** Whatever people hid comes back, so that only the water decides. */
  unhide(): void {
    this.offer({ is: 'command', command: { do: 'end_maintenance', system: 'tank', by: 'keeper' } });
    for (const alarm of [high, low, silent]) {
      this.offer({ is: 'command', command: { do: 'unshelve', alarm, by: 'keeper' } });
    }
  }
}

const runs = { numRuns: 150, seed: 20_240_101 };

test('a history leaves an alarm standing on a normal value', () => {
  fc.assert(
    fc.property(history, (actions) => {
      const tank = new Tank();
      tank.live(actions);
      tank.unhide();
      // The longest that a chattering alarm may be held, a day and its window, with room for the swing of the day.
      tank.readSteadily(25.75, 56 * 60);
      expect([...tank.standing]).toEqual([]);
      expect(alarmsOf(rules, tank.state, tank.nowMs).filter(({ isStanding }) => isStanding)).toEqual([]);
    }),
    { ...runs, numRuns: 40 },
  );
});

test('a history hides water that leaves its band', () => {
  fc.assert(
    fc.property(history, fc.constantFrom([30, high] as const, [24.8, low] as const), (actions, [value, alarm]) => {
      const tank = new Tank();
      tank.live(actions);
      tank.unhide();
      tank.readSteadily(value, 20);
      expect(tank.standing.has(alarm)).toBe(true);
      const listed = alarmsOf(rules, tank.state, tank.nowMs).find(({ id }) => id === alarm);
      expect(['unacknowledged', 'acknowledged']).toContain(listed?.state);
    }),
    runs,
  );
});

test('a history hides a probe that stops', () => {
  fc.assert(
    fc.property(history, (actions) => {
      const tank = new Tank();
      tank.live(actions);
      tank.unhide();
      tank.readSteadily(25.75, 15);
      tank.pass(12);
      expect(tank.standing.has(silent)).toBe(true);
    }),
    runs,
  );
});

test('a restart at any moment changes what is told', () => {
  fc.assert(
    fc.property(history, (actions) => {
      const kept = new Tank();
      const restarted = new Tank();
      restarted.restartsOften = true;
      kept.live(actions);
      restarted.live(actions);
      expect(restarted.events).toEqual(kept.events);
      expect(restarted.state).toEqual(kept.state);
    }),
    { ...runs, numRuns: 60 },
  );
});

test('an alarm clears while its probe says nothing good', () => {
  fc.assert(
    fc.property(
      fc.array(fc.constantFrom<Quality['flag'] | 'silence'>('suspect', 'fail', 'missing', 'silence'), {
        minLength: 20,
        maxLength: 200,
      }),
      (flags) => {
        const tank = new Tank();
        tank.readSteadily(25.75, 10);
        tank.readSteadily(30, 10);
        for (const flag of flags) {
          tank.pass(1);
          if (flag !== 'silence') tank.read(flag, 25.75);
        }
        expect(tank.standing.has(high)).toBe(true);
      },
    ),
    runs,
  );
});
