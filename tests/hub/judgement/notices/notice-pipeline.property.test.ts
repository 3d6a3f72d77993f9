import fc from 'fast-check';
import { expect, test } from 'vitest';
import { quietEndsMs } from '#hub/judgement/notices/quiet-hours.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { alarmScript, minuteMs, type Said, usualSettings } from './alarm-script.ts';

const hourMs = 60 * minuteMs;
const start = Date.UTC(2026, 2, 10, 12, 0);

/** An alarm as the life cycle moves it: what may come next depends on what is. */
type Life = {
  isTold: boolean;
  isAcknowledged: boolean;
  isShelved: boolean;
  isSuppressed: boolean;
  toldSinceMs: number;
};

type Step =
  | { do: 'move'; alarm: number; state: AlarmEvent['state'] }
  | { do: 'flood'; count: number }
  | { do: 'pass'; minutes: number }
  | { do: 'restart' }
  | { do: 'repeat'; of: number }
  | { do: 'reach'; isThere: boolean };

const alarmCount = 30;
/** One priority for each alarm, as a configuration gives it. */
const priorityOf = (alarm: number) => priorities[alarm % 3] ?? 'low';
const idOf = (alarm: number) => `s${alarm % 4}/${alarm}`;

const stepArb: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.record({
      do: fc.constant('move' as const),
      // Few of them often, so that each has a life.
      alarm: fc.oneof(fc.nat(4), fc.nat(4), fc.nat(alarmCount - 1)),
      state: fc.constantFrom<AlarmEvent['state'][]>(
        ...([
          'raised',
          'raised',
          'cleared',
          'acknowledged',
          'reraised',
          'shelved',
          'unshelved',
          'suppressed',
          'unsuppressed',
        ] as const),
      ),
    }),
  },
  {
    weight: 5,
    arbitrary: fc.record({ do: fc.constant('pass' as const), minutes: fc.double({ min: 0, max: 300, noNaN: true }) }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ do: fc.constant('flood' as const), count: fc.integer({ min: 1, max: alarmCount }) }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('restart' as const) }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('repeat' as const), of: fc.nat(500) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('reach' as const), isThere: fc.boolean() }) },
);

function play(steps: readonly Step[]) {
  const room = alarmScript(start);
  const lives = Array.from({ length: alarmCount }, (): Life => {
    return { isTold: false, isAcknowledged: false, isShelved: false, isSuppressed: false, toldSinceMs: 0 };
  });

  /** Only what the life cycle can tell: no end without a beginning, no second raise of what is told. */
  function move(alarm: number, state: AlarmEvent['state']): void {
    const life = lives[alarm];
    if (life === undefined) return;
    const may: Record<AlarmEvent['state'], boolean> = {
      raised: !life.isTold && !life.isShelved,
      reraised: life.isTold && life.isAcknowledged && !life.isShelved && !life.isSuppressed,
      cleared: life.isTold,
      acknowledged: life.isTold && !life.isAcknowledged,
      shelved: life.isTold && !life.isShelved,
      unshelved: life.isShelved && !(life.isTold && !life.isSuppressed),
      suppressed: life.isTold && !life.isSuppressed,
      unsuppressed: life.isSuppressed,
    };
    if (state === 'unshelved' && life.isShelved && life.isTold && !life.isSuppressed) {
      Object.assign(life, { isShelved: false, isAcknowledged: false, toldSinceMs: room.nowMs() });
      room.unshelve(idOf(alarm));
      return;
    }
    if (!may[state]) return;
    if (state === 'raised' || state === 'reraised')
      Object.assign(life, { isTold: true, isAcknowledged: false, toldSinceMs: room.nowMs() });
    if (state === 'cleared') Object.assign(life, { isTold: false, isAcknowledged: false, isSuppressed: false });
    if (state === 'acknowledged') life.isAcknowledged = true;
    if (state === 'shelved' || state === 'unshelved') life.isShelved = state === 'shelved';
    if (state === 'suppressed' || state === 'unsuppressed') {
      life.isSuppressed = state === 'suppressed';
      life.toldSinceMs = room.nowMs();
    }
    room.tell(state, [idOf(alarm)], priorityOf(alarm));
  }

  for (const step of steps) {
    if (step.do === 'move') move(step.alarm, step.state);
    else if (step.do === 'flood') for (let alarm = 0; alarm < step.count; alarm += 1) move(alarm, 'raised');
    else if (step.do === 'pass') room.pass(step.minutes * minuteMs);
    else if (step.do === 'restart') room.restart();
    else if (step.do === 'reach') room.reach(step.isThere);
    else {
      const event = room.events[step.of % Math.max(1, room.events.length)];
      if (event !== undefined) room.give([event]);
    }
  }
  return { room, lives };
}

const countsForBudget = ({ key, to }: Said) => to === 'phone' && !key.startsWith('summary#');

function mostWithin(said: readonly Said[], windowMs: number): number {
  let most = 0;
  for (const [index, { atMs }] of said.entries())
    most = Math.max(most, said.slice(index).filter((each) => each.atMs - atMs < windowMs).length);
  return most;
}

// Without a size the histories would be too short for a night to pass in them.
const stepsArb = fc.array(stepArb, { minLength: 1, maxLength: 70, size: 'max' });

test('an alarm that stands and that nobody acknowledged is never spoken of', () => {
  fc.assert(
    fc.property(stepsArb, (steps) => {
      const { room, lives } = play(steps);
      room.reach(true);
      room.pass(11 * minuteMs);
      const open = new Map(room.state().open.map((notice) => [notice.alarm, notice]));
      for (const [alarm, life] of lives.entries()) {
        const notice = open.get(idOf(alarm));
        expect(notice !== undefined, `${idOf(alarm)} is followed while it stands`).toBe(life.isTold);
        if (notice === undefined || life.isShelved || life.isSuppressed || life.isAcknowledged) continue;
        if (priorityOf(alarm) === 'high') expect(notice.toldMs, `${idOf(alarm)} was told`).not.toBeNull();
      }
      // The rest by the next noon, outside of all quiet hours and every budget.
      room.pass(36 * hourMs);
      for (const notice of room.state().open) {
        const life = lives[Number(notice.alarm.split('/')[1])];
        if (life?.isShelved || life?.isSuppressed || life?.isAcknowledged) continue;
        expect(notice.toldMs, `${notice.alarm} was told`).not.toBeNull();
      }
    }),
    { numRuns: 150 },
  );
});

test('one event rings twice, an end comes without its beginning, or after the end it rings on', () => {
  fc.assert(
    fc.property(stepsArb, (steps) => {
      const { room } = play(steps);
      room.pass(24 * hourMs);
      const keys = room.said.map(({ key, to }) => `${to} ${key}`);
      expect(new Set(keys).size).toBe(keys.length);
      const told = new Set<string>();
      for (const { key, to, line } of room.said) {
        const [alarm = '', , state] = key.split('#');
        if (to !== 'phone' || key.startsWith('again#') || key.startsWith('together#')) continue;
        if (state === 'raised' || state === 'reraised') told.add(alarm);
        if (state !== 'cleared') continue;
        expect(told.delete(alarm), `${key} ${line} follows its raise`).toBe(true);
      }
    }),
    { numRuns: 150 },
  );
});

test('more lines come in an hour than a person can follow, or one of little urgency comes at night', () => {
  fc.assert(
    fc.property(stepsArb, (steps) => {
      const { room } = play(steps);
      room.pass(24 * hourMs);
      const budgeted = room.said.filter(countsForBudget);
      expect(mostWithin(budgeted, hourMs)).toBeLessThanOrEqual(usualSettings.mostPerHour);
      const summaries = room.said.filter(({ key }) => key.startsWith('summary#'));
      expect(mostWithin(summaries, 10 * minuteMs)).toBeLessThanOrEqual(1);
      const escalated = room.said.filter(({ key }) => key.startsWith('escalated#'));
      expect(mostWithin(escalated, 5 * minuteMs)).toBeLessThanOrEqual(1);
      for (const { atMs, line, to } of room.said) {
        const isUrgent = line.startsWith('ACT NOW') || line.startsWith('Back to normal') || to === 'escalated';
        if (!isUrgent) expect(quietEndsMs(usualSettings, 'medium', atMs)).toBe(atMs);
      }
    }),
    { numRuns: 150 },
  );
});
