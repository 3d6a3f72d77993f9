import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { stepNotices } from '#hub/judgement/notices/notice-pipeline.ts';
import { copyOf, emptyNoticeState, moveNotices, type NoticeState } from '#hub/judgement/notices/notice-state.ts';
import { owing } from '#hub/judgement/notices/owed.ts';
import { type ChecklistInput, movedRuns, noRuns, stepChecklist } from '#rules/arrivals/checklist.ts';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';
import { moveRoom, type RoomState } from '#rules/bands/room.ts';
import { moveOfSetting, moveOfStep } from '#rules/clock/clock-move.ts';
import { minuteMs, mondayMs } from '../../../rules/bands/script.ts';
import { StepTank } from '../../../rules/bands/step-tank.ts';
import { usualSettings } from '../../judgement/notices/alarm-script.ts';

// Nothing from outside is at stake: a moment that a clock's step leaves behind delays an alarm, or brings it at once.

/** What of a document is a moment: a number of this size, by the names on the way to it. */
const leastMomentMs = 1e11;
/** Dated by people, who mean the time of day. */
const byPeople = /^(analytes|calibrations)\b/;

type Found = Map<string, number>;

function momentsOf(value: unknown, path: string, found: Found = new Map()): Found {
  if (typeof value === 'number' && value >= leastMomentMs) found.set(path, value);
  if (typeof value === 'object' && value !== null)
    for (const [name, inner] of Object.entries(value)) momentsOf(inner, path === '' ? name : `${path}.${name}`, found);
  return found;
}

/** Everything else as it was, and each moment moved; gives the names of what moved. */
function expectMoved(before: unknown, after: unknown, byMs: number): Set<string> {
  const [was, is] = [momentsOf(before, ''), momentsOf(after, '')];
  expect([...is.keys()]).toEqual([...was.keys()]);
  const names = new Set<string>();
  for (const [path, atMs] of was) {
    const isStaying = byPeople.test(path);
    expect(is.get(path)! - atMs, path).toBe(isStaying ? 0 : byMs);
    if (!isStaying)
      names.add(
        path
          .split('.')
          .filter((name) => !/^\d+$/.test(name))
          .slice(-1)[0]!,
      );
  }
  const withoutMoments = (value: unknown) =>
    JSON.stringify(value, (_, inner) => (typeof inner === 'number' && inner >= leastMomentMs ? 0 : inner));
  expect(withoutMoments(after)).toBe(withoutMoments(before));
  return names;
}

const copied = <Document>(document: Document): Document => JSON.parse(JSON.stringify(document)) as Document;
const byMs = fc.integer({ min: -20 * 60 * minuteMs, max: 400 * 24 * 60 * minuteMs }).filter((by) => by !== 0);

type Act = {
  minutes: number;
  act: 'warm' | 'right' | 'same' | 'failed' | 'hush' | 'seen' | 'work' | 'line' | 'test' | 'lost';
};
const history = fc.array(
  fc.record({
    minutes: fc.integer({ min: 1, max: 40 }),
    act: fc.constantFrom<Act['act']>('warm', 'right', 'same', 'failed', 'hush', 'seen', 'work', 'line', 'test', 'lost'),
  }),
  { minLength: 5, maxLength: 40 },
);

/** So few lines an hour that some are withheld for a summary. */
const stingy = { ...usualSettings, mostPerHour: 1 };

/** Some hours of a tank and its notices. */
function lived(acts: readonly Act[]): { room: RoomState; notices: NoticeState } {
  const tank = new StepTank();
  let notices = emptyNoticeState();
  let minute = 0;
  for (const { minutes, act } of acts) {
    const from = tank.events.length;
    for (const end = minute + minutes; minute < end; minute += 1) {
      const value = act === 'warm' ? 28 : act === 'same' ? 25.5 : 25.5 + (minute % 3) / 100;
      tank.read(minute, act === 'failed' ? { flag: 'fail', raw: -127, why: 'range' } : value);
      tank.tick(minute + 0.5);
    }
    const alarm = 'tank/temperature/out_of_band/high';
    const untilMs = mondayMs + (minute + 300) * minuteMs;
    if (act === 'hush') tank.command(minute, { do: 'shelve', alarm, untilMs, by: 'ana' });
    if (act === 'seen') tank.command(minute, { do: 'acknowledge', alarm, by: 'ana' });
    if (act === 'work') tank.command(minute, { do: 'maintenance', system: 'sump', untilMs, by: 'ana' });
    if (act === 'line') tank.offer(minute, { is: 'edge', name: 'board', isUp: minute % 2 === 0, detail: 'no board' });
    const timeMs = mondayMs + minute * minuteMs;
    if (act === 'test') tank.offer(minute, { is: 'test', system: 'tank', analyte: 'alkalinity', value: 8, timeMs });
    if (act === 'test') tank.offer(minute, { is: 'calibration', probe: 'temperature', timeMs });
    if (act === 'lost') notices = owing(notices, 0, timeMs);
    const news = tank.events.slice(from).map((event) => ({ event, text: event.message }));
    notices = stepNotices(stingy, notices, { news, nowMs: timeMs, canReach: true }).state;
  }
  return { room: tank.state, notices };
}

describe('the clock is put right by any amount', () => {
  const moved = new Set<string>();

  it('leaves a moment of the rules behind, or moves what is none', () => {
    fc.assert(
      fc.property(history, byMs, (acts, by) => {
        const { room } = lived(acts as Act[]);
        const before = copied(room);
        moveRoom(room, moveOfStep(by));
        for (const name of expectMoved(before, copied(room), by)) moved.add(name);
      }),
      { numRuns: 150, seed: 4 },
    );
    // The histories must have filled what the rules remember, else nothing was tried.
    expect([...moved].sort()).toEqual(
      [
        ...['abnormalSinceMs', 'acknowledgedMs', 'bucketMs', 'calmMs', 'changedMs', 'endedMs', 'goodMs', 'heardMs'],
        ...['latchings', 'listeningSinceMs', 'normalSinceMs', 'nowMs', 'scannedMs', 'seenMs', 'shelvedUntilMs'],
        ...['sinceMs', 'startedMs', 'takenMs', 'timesMs', 'untilMs'],
      ].sort(),
    );
  });

  it('leaves a moment of the notices behind', () => {
    const names = new Set<string>();
    fc.assert(
      fc.property(history, byMs, (acts, by) => {
        const { notices } = lived(acts as Act[]);
        const after = copyOf(notices);
        moveNotices(after, moveOfStep(by));
        for (const name of expectMoved(copied(notices), copied(after), by)) names.add(name);
      }),
      { numRuns: 100, seed: 5 },
    );
    expect([...names].sort()).toEqual([
      ...['atMs', 'lastEscalationMs', 'lastSaidMs', 'lastSummaryMs', 'nowMs', 'owedFromMs', 'sinceMs', 'timeMs'],
      ...['toldMs', 'withheldSinceMs'],
    ]);
  });

  it('stretches or cuts a bath that runs', () => {
    const minutes = fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 2, maxLength: 8 });
    fc.assert(
      fc.property(minutes, byMs, (pauses, by) => {
        let nowMs = mondayMs;
        let state = noRuns;
        const offer = (input: ChecklistInput) => {
          state = stepChecklist(state, input, nowMs).state;
        };
        offer({ kind: 'start', runId: 'A', arrivalId: 'one', protocol: ownProtocols[0]! });
        for (const pause of pauses) {
          offer({ kind: 'start_timer', runId: 'A' });
          nowMs += pause * minuteMs;
          offer({ kind: 'tick' });
          if (pause > 6) offer({ kind: 'step_done', runId: 'A', isEarly: true });
        }
        const [was] = state.runs;
        const [is] = movedRuns(state, moveOfStep(by)).runs;
        expect(is!.done).toEqual(was!.done);
        expect(is!.timer === undefined).toBe(was!.timer === undefined);
        expectMoved({ ...was, done: [] }, { ...is, done: [] }, by);
      }),
      { numRuns: 60, seed: 6 },
    );
  });
});

describe('a clock that was never set is set', () => {
  it('moves what an earlier run dated, what a person ended, or what means "never"', () => {
    const { noted, set } = moveOfSetting(500, mondayMs);
    expect([noted(mondayMs), noted(mondayMs - 1), noted(0), noted(null), noted(undefined)]).toEqual([
      ...[mondayMs + 500, mondayMs - 1, 0, null, undefined],
    ]);
    expect(set(mondayMs + 1)).toBe(mondayMs + 1);
    // Before there was a date at all, nothing is a moment, whenever the run is said to have begun.
    expect(moveOfSetting(500, 0).noted(600_000)).toBe(600_000);
  });
});
