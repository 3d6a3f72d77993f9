import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { MetricView, RoomView, SystemView } from '#hub/api/room.ts';
import { allWellLine } from '#hub/judgement/notices/all-well.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import { stateWords, suddenWords } from '../../../hub/web/src/kit/words.ts';
import { leaveWords, rowWords } from '../../../hub/web/src/room/ahead-words.ts';
import { foresee, rowsOf } from '../../../hub/web/src/room/foresight.ts';
import { sentenceOf, sentenceOfRoom } from '../../../hub/web/src/room/headline.ts';

/** Random rooms: no headline may say what a row below it, an alarm beside it or the phone denies. */

const now = Date.parse('2026-11-25T15:00Z');
const zone = 'Europe/Lisbon';
const hourMs = 3_600_000;
const runs = { numRuns: 600 };

const metricNames = [
  ['temperature', 'Temperature'],
  ['ph', 'pH'],
  ['salinity', 'Salinity'],
  ['alkalinity', 'Alkalinity'],
  ['calcium', 'Calcium'],
  ['nitrate', 'Nitrate'],
] as const;

const hoursAhead = fc.integer({ min: 0, max: 47 });
const outlook = fc.record({
  leaves: fc.option(hoursAhead, { nil: null }),
  mayLeave: fc.option(hoursAhead, { nil: null }),
  level: fc.double({ min: 6, max: 10, noNaN: true }),
});

const metricView = fc
  .record({
    name: fc.constantFrom(...metricNames),
    isProbe: fc.boolean(),
    value: fc.option(fc.double({ min: 6, max: 10, noNaN: true }), { nil: null, freq: 8 }),
    flag: fc.constantFrom('pass', 'pass', 'pass', 'suspect'),
    ageMinutes: fc.constantFrom(0, 1, 4, 6, 300),
    hasBand: fc.constantFrom(true, true, true, false),
    outlook: fc.option(outlook, { nil: null, freq: 4 }),
  })
  .map(({ name: [metric, label], isProbe, value, flag, ageMinutes, hasBand, outlook: ahead }): MetricView => {
    const at = (hours: number | null) => (hours === null ? null : now + hours * hourMs);
    const level = ahead?.level ?? 8;
    return {
      ...{ metric, label, unit: '', decimals: 2, shown: null, probe: isProbe ? metric : null },
      ...{ value, flag: isProbe ? flag : 'pass', why: null, time: value === null ? null : now - ageMinutes * 60_000 },
      ...{ band: hasBand ? { low: 7, high: 9 } : null, day: [], tests: [] },
      silentAfterMs: isProbe ? 5 * 60_000 : null,
      outlook:
        ahead === null
          ? null
          : {
              ...{ by: isProbe ? 'probe' : 'tests', leavesBy: null, perDay: 0 },
              ...{ leavesAt: at(ahead.leaves), mayLeaveAt: at(ahead.mayLeave) },
              points: [0, 48].map((hours) => ({ time: at(hours)!, level, low: level - 0.1, high: level + 0.1 })),
            },
    };
  });

const alarm = fc
  .record({
    metric: fc.constantFrom(...metricNames.map(([metric]) => metric)),
    isStanding: fc.boolean(),
    state: fc.constantFrom('unacknowledged', 'acknowledged', 'suppressed', 'shelved'),
    priority: fc.constantFrom('high', 'medium', 'low'),
  })
  .map((each) => ({ ...each, id: each.metric, message: 'm', sinceMs: now }) as unknown as SystemView['alarms'][number]);

const system = fc
  .record({
    metrics: fc.uniqueArray(metricView, { maxLength: 6, selector: ({ metric }) => metric }),
    alarms: fc.array(alarm, { maxLength: 2 }),
  })
  .map(({ metrics, alarms }): SystemView => {
    const none = { advice: [], stocks: [], plans: [], maintenance: [], probes: [] };
    return { id: 's', name: 'Tank', volume_l: 400, metrics, alarms, ...none };
  });

const room = fc.array(system, { minLength: 1, maxLength: 5 }).map((systems): RoomView => {
  const named = systems.map((each, index) => ({ ...each, id: `s${index}`, name: `Tank${index}` }));
  const silenceAtMostHours = { high: 12, medium: 72, low: 168 };
  return {
    site: 'Room',
    timezone: zone,
    time: now,
    invented: false,
    edges: [],
    causes: [],
    silenceAtMostHours,
    systems: named,
  };
});

const inText = ({ label }: MetricView) => (label === 'pH' ? 'pH' : label.toLowerCase());
const has = (sentence: string, metric: MetricView) => sentence.toLowerCase().includes(inText(metric).toLowerCase());

describe('a headline and the rows below it', () => {
  test('a row outside, silent or in doubt is not named, or is called steady', () => {
    fc.assert(
      fc.property(system, (view) => {
        const sentence = sentenceOf(view, now, zone);
        for (const metric of rowsOf(view.metrics, now).first) {
          const { order } = foresee(metric, now);
          if (['outside', 'unheard', 'doubtful'].includes(order)) expect(has(sentence, metric)).toBe(true);
        }
      }),
      runs,
    );
  });

  test('the headline says another time to leave the band than the row', () => {
    fc.assert(
      fc.property(system, (view) => {
        const sentence = sentenceOf(view, now, zone);
        for (const [, label, said] of sentence.matchAll(
          /(\w+) ((?:will|could|may|has probably) (?:leave|left|be)[^;.]*)/g,
        )) {
          const row = view.metrics.find((each) => inText(each).toLowerCase() === label?.toLowerCase());
          if (row === undefined) continue;
          expect(leaveWords(row, now, zone)).toBe(said);
          expect(rowWords(row, now, zone).ahead).toContain(said);
        }
      }),
      runs,
    );
  });

  test('"everything" is said of a row that is outside, unknown, or expected to leave', () => {
    fc.assert(
      fc.property(system, (view) => {
        const sentence = sentenceOf(view, now, zone);
        if (!/everything/i.test(sentence)) return;
        // Of a row that may be outside already "everything is in its band" is denied by its own next words.
        if (/may be outside/.test(sentence)) expect(sentence).not.toMatch(/everything is in its band/i);
        const isSteadyClaim = /everything( else)? is steady/i.test(sentence);
        for (const metric of rowsOf(view.metrics, now).first) {
          if (has(sentence, metric)) continue;
          const order = foresee(metric, now).order;
          // One that follows is counted in "more will follow".
          if (order === 'leaving') expect(sentence).toMatch(/more will follow/);
          else expect(['steady', 'unsure', 'unbanded']).toContain(order);
          if (isSteadyClaim) expect(order).not.toBe('unsure');
          expect(metric.value).not.toBeNull();
          expect(stateWords(metric, now)).not.toMatch(/above|below|silent|doubt/);
          expect(suddenWords(metric) === undefined || order !== 'unsure').toBe(true);
        }
      }),
      runs,
    );
  });

  test('the count of alarms is another than that of the lines below, or the phone says that all is well', () => {
    fc.assert(
      fc.property(room, (view) => {
        const sentence = sentenceOfRoom(view, now);
        const active = view.systems.flatMap(({ alarms }) => alarms).filter(isCounted).length;
        const said = /(\d+) active alarms?/.exec(sentence)?.[1];
        expect(Number(said ?? 0)).toBe(active);
        const standing = view.systems.flatMap(({ alarms }) => alarms) as StandingAlarm[];
        const outside = view.systems.flatMap(({ id, name, metrics }) =>
          metrics
            .filter((metric) => foresee(metric, now).order === 'outside')
            .map(({ metric }) => ({ system: id, systemName: name, metric })),
        );
        const heard = [{ probe: 'p', system: 's0', timeMs: now, isSilent: false }];
        const phone = allWellLine(standing, heard, outside, () => 'text', now);
        if (/^All is well/.test(phone)) {
          expect(active).toBe(0);
          expect(sentence).not.toMatch(/(above|below) its band|outside their bands/);
        }
      }),
      runs,
    );
  });

  test('a room is called steady while one of its systems is not', () => {
    fc.assert(
      fc.property(room, (view) => {
        const sentence = sentenceOfRoom(view, now);
        if (!/^Everything is steady in its band in all/.test(sentence)) return;
        for (const { metrics } of view.systems)
          for (const metric of rowsOf(metrics, now).first) {
            expect(['steady', 'unbanded']).toContain(foresee(metric, now).order);
            expect(metric.value).not.toBeNull();
          }
      }),
      { numRuns: 6000 },
    );
  });

  test('a headline names a tank that needs nobody before one that does', () => {
    fc.assert(
      fc.property(room, (view) => {
        const named = /^(Tank\d): /.exec(sentenceOfRoom(view, now))?.[1];
        const worst = view.systems.find(({ name }) => name === named);
        if (worst === undefined || view.systems.length === 1) return;
        const isOutside = ({ metrics }: SystemView) => metrics.some((each) => foresee(each, now).order === 'outside');
        const hasAlarm = ({ alarms }: SystemView) => alarms.some(isCounted);
        if (!hasAlarm(worst)) expect(view.systems.some(hasAlarm)).toBe(false);
        if (!hasAlarm(worst) && !isOutside(worst)) expect(view.systems.some(isOutside)).toBe(false);
      }),
      runs,
    );
  });
});
