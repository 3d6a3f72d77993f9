import type { StandingAlarm } from '../bands/standing-alarms.ts';
import { defined } from '../plain-data/defined.ts';
import { type Act, type RankedDeed, ranks, urgencyOf } from './deed.ts';
import type { BatchFacts, DoseFacts, IllPiece, LotFacts, NowFacts, TestFacts } from './facts.ts';

type Unplaced = Omit<RankedDeed, 'rank' | 'dueMs' | 'urgency'>;

const placed = (rank: number, dueMs: number, deed: Unplaced): RankedDeed => ({
  ...deed,
  rank,
  dueMs,
  urgency: urgencyOf(rank),
});

const alarmRanks = { high: ranks.actNow, medium: ranks.actToday, low: ranks.haveALook } as const;

/**
 * An alarm as something to do; undefined while it is silenced, and for a test that is overdue, whose line the list of tests
 * has. What an alarm of upkeep asks for is its deed; of all others somebody who has seen it says so.
 */
export function alarmDeed(alarm: StandingAlarm): RankedDeed | undefined {
  const { id, system, rule, priority, state, isStanding, message, sinceMs } = alarm;
  if (state === 'shelved' || state === 'suppressed' || rule === 'test_overdue') return undefined;
  const last = id.split('/').at(-1) ?? '';
  const about = { id: `alarm:${id}`, tank: system, what: message.replace(/\.$/, '') };
  if (isStanding && rule === 'container_low')
    return placed(ranks.supplies, sinceMs, {
      ...about,
      words: 'Refilled',
      act: { do: 'refill', system, stock: last },
    });
  if (isStanding && rule === 'calibration_overdue')
    return placed(ranks.supplies, sinceMs, { ...about, words: 'Calibrate', act: { do: 'calibrate', probe: last } });
  if (!isStanding) {
    const more = 'ended by itself, unseen';
    return placed(ranks.haveALook, sinceMs, {
      ...about,
      more,
      words: 'Seen',
      act: { do: 'acknowledge', alarm: id },
    });
  }
  if (state === 'acknowledged')
    return placed(alarmRanks[priority], sinceMs, {
      ...about,
      more: 'acknowledged',
      words: 'Look',
      act: { do: 'look', system },
    });
  return placed(alarmRanks[priority], sinceMs, {
    ...about,
    words: 'Acknowledge',
    act: { do: 'acknowledge', alarm: id },
  });
}

/** Salinity is moved by water and not by doses. */
function askedFirst(analyte: string, label: string): string {
  return analyte === 'salinity' ? 'Measure salinity before you correct it' : `Test ${label} again before you dose`;
}

/** Tests that are due before the day is over, those of one tank together: one walk to the kits. */
export function testDeeds({ tests, holdBacks: waiting, alarms, dayEndsMs }: NowFacts): RankedDeed[] {
  const holdBacks = waiting.filter(({ dueMs }) => dueMs <= dayEndsMs);
  const overdue = alarms.flatMap((alarm): TestFacts[] => {
    const { rule, state, isStanding, system, metric, sinceMs, message } = alarm;
    if (rule !== 'test_overdue' || !isStanding || state === 'shelved' || state === 'suppressed') return [];
    const known = tests.find((each) => each.system === system && each.analyte === metric);
    return known === undefined ? [{ system, analyte: metric, label: metric, dueMs: sinceMs, because: message }] : [];
  });
  const isAskedFirst = ({ system, analyte }: TestFacts) =>
    holdBacks.some((each) => each.system === system && each.analyte === analyte);
  const alarmsOf = ({ system, analyte }: TestFacts) =>
    alarms.filter((each) => each.rule === 'test_overdue' && each.system === system && each.metric === analyte);
  const due = [...tests, ...overdue].filter((each) => {
    const own = alarmsOf(each);
    // Whoever silenced the reminder of a test is not reminded of it here.
    if (own.some(({ state }) => state === 'shelved') || isAskedFirst(each)) return false;
    return each.dueMs <= dayEndsMs || own.some(({ isStanding }) => isStanding);
  });
  const regular = [...new Set(due.map(({ system }) => system))].map((system): RankedDeed => {
    const all = due.filter((each) => each.system === system);
    const because = all.map((each) => each.because).filter((text) => text !== undefined);
    const act: Act = { do: 'test', system, analytes: all.map(({ analyte }) => analyte) };
    return placed(ranks.test, Math.min(...all.map(({ dueMs }) => dueMs)), {
      id: `test:${system}`,
      tank: system,
      what: `Test ${listed(all.map(({ label }) => label))}`,
      ...(because.length === 0 ? {} : { more: [...new Set(because)].join('; ') }),
      words: 'Log test',
      act,
    });
  });
  const first = holdBacks.map(({ system, analyte, label, why, dueMs }) =>
    placed(ranks.testFirst, dueMs, {
      id: `retest:${system}/${analyte}`,
      tank: system,
      what: askedFirst(analyte, label),
      more: why,
      words: 'Log test',
      act: { do: 'test', system, analytes: [analyte] },
    }),
  );
  return [...first, ...regular];
}

const relationWords: Record<DoseFacts['relation'], (daily: string | undefined) => string> = {
  on_top_of_daily: (daily) => `on top of the daily dosing${daily === undefined ? '' : ` of ${daily}`}`,
  instead_of_daily: (daily) => (daily === undefined ? 'a new daily dose' : `instead of ${daily}`),
  alone: () => 'today',
};

export function doseDeed({ system, analyte, label, amount, relation, daily }: DoseFacts): RankedDeed {
  const beside = relationWords[relation](daily);
  return placed(ranks.dose, 0, {
    id: `dose:${system}/${analyte}/${relation}`,
    tank: system,
    what: amount,
    more: `${label}: ${beside}`,
    beside,
    words: 'Advice',
    act: { do: 'dose', system, analyte },
  });
}

export function illPieceDeed({ piece, name, system, sinceMs, what, first }: IllPiece): RankedDeed {
  const said = { id: `ill:${piece}`, tank: system, what: `${name}: ${what}`, more: first };
  return placed(ranks.pieceIll, sinceMs, { ...said, words: 'Open', act: { do: 'open_piece', piece } });
}

/** What is dosed by a lot that reads otherwise is dosed wrongly, so it comes with the tests that are wanted first. */
export function lotDeed({ kit, system, lot, what }: LotFacts): RankedDeed {
  return placed(ranks.testFirst, 0, {
    id: `lot:${kit}/${system}`,
    tank: system,
    what: `Compare ${lot} with the lot before`,
    more: `${what}; test one sample with both lots, a reference or the titrator before you dose by it`,
    words: 'Test kits',
    act: { do: 'compare_kit', kit },
  });
}

export function batchDeed({ batch, system, litres, isReady, why, madeMs }: BatchFacts): RankedDeed {
  const amount = `${litres.toFixed(0)} L of new salt water`;
  const about = { id: `batch:${batch}`, tank: system, act: { do: 'open_batch', batch } as const };
  if (isReady) return placed(ranks.ready, madeMs, { ...about, what: `${amount} is ready`, words: 'Use it' });
  const more = defined({ more: why });
  return placed(ranks.ready, madeMs, { ...about, what: `${amount} does not match yet`, ...more, words: 'Measure it' });
}

/** Names in a row: `alkalinity, calcium and magnesium`. */
export function listed(names: readonly string[]): string {
  return names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}
