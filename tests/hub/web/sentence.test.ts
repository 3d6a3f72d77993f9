import { describe, expect, test } from 'vitest';
import type { MetricView, SystemView } from '#hub/api/room.ts';
import { trendWords } from '../../../hub/web/src/kit/words.ts';
import { rowsOf, urgency } from '../../../hub/web/src/room/foresight.ts';
import { sentenceOf, sentenceOfRoom } from '../../../hub/web/src/room/headline.ts';

const now = Date.parse('2026-11-25T15:00Z');
const hourMs = 3_600_000;

function row(change: Partial<MetricView> & Pick<MetricView, 'metric' | 'label'>): MetricView {
  return {
    ...{ unit: '', decimals: 2, probe: 'p', value: 8, flag: 'pass', why: null, time: now, day: [], tests: [] },
    ...{ band: { low: 7, high: 9 }, outlook: null, shown: null, silentAfterMs: 5 * 60_000 },
    ...change,
  };
}

const leaving = (hours: number): MetricView['outlook'] => ({
  ...{ by: 'tests', points: [], leavesAt: now + hours * hourMs, mayLeaveAt: now, leavesBy: 'low', perDay: -0.5 },
});

function system(...metrics: MetricView[]): SystemView {
  const none = { alarms: [], advice: [], stocks: [], plans: [], maintenance: [], probes: [] };
  return { id: 's', name: 'Display', volume_l: 400, metrics, ...none };
}

const alkalinity = row({ metric: 'alkalinity', label: 'Alkalinity', outlook: leaving(28) });
const unsure = row({
  ...alkalinity,
  outlook: { ...leaving(0), leavesAt: null, mayLeaveAt: now + 28 * hourMs } as MetricView['outlook'],
});
const steady = row({ metric: 'ph', label: 'pH' });
const sooner = row({ metric: 'calcium', label: 'Calcium', outlook: leaving(9) });
const silent = row({ metric: 'temperature', label: 'Temperature', time: now - hourMs });
const out = row({ metric: 'salinity', label: 'Salinity', value: 9.5 });
const untested = row({ metric: 'nitrate', label: 'Nitrate', probe: null, value: null, time: null });
const repeated = row({ metric: 'specific_gravity', label: 'Specific gravity', band: null });

describe('what a keeper reads in passing', () => {
  test.each<[string, MetricView[]]>([
    ['Alkalinity will leave its band tomorrow evening; everything else is steady.', [steady, alkalinity]],
    ['Calcium will leave its band tonight; 1 more will follow within two days.', [alkalinity, sooner]],
    [
      'Alkalinity has probably left its band; everything else is steady.',
      [steady, row({ ...alkalinity, outlook: leaving(0) })],
    ],
    ['Alkalinity will leave its band within the hour.', [row({ ...alkalinity, outlook: leaving(0.5) })]],
    ['Everything is steady in its band.', [steady]],
    ['Everything is in its band; alkalinity could leave its band tomorrow evening.', [steady, unsure]],
    ['Salinity is above its band; alkalinity could leave its band tomorrow evening.', [steady, out, unsure]],
    ['No test of nitrate yet; everything else is steady in its band.', [steady, untested]],
    ['No test of nitrate yet.', [untested]],
    ['No signal from temperature; everything else is steady.', [steady, silent]],
    ['Salinity is above its band.', [out]],
    ['pH is in doubt.', [row({ ...steady, flag: 'suspect' })]],
    ['Nothing is measured here yet.', []],
  ])('instead of: %s', (sentence, metrics) => {
    expect(sentenceOf(system(...metrics), now, 'Europe/Lisbon')).toBe(sentence);
  });

  test('an alarm stands and the sentence says that all is well', () => {
    const alarm = { metric: 'temperature', isStanding: true, state: 'unacknowledged', priority: 'high' };
    const heard = row({ ...silent, time: now });
    const alarmed = { ...system(steady, heard), alarms: [alarm as SystemView['alarms'][number]] };
    expect(sentenceOf(alarmed, now, 'Europe/Lisbon')).toBe(
      'An alarm on temperature is still active; everything else is steady.',
    );
  });

  test('a value that jumped a minute ago is called steady', () => {
    const points = [0, 3].map((hours) => ({ time: now + hours * hourMs, level: 8, low: 7.9, high: 8.1 }));
    const quiet = { ...leaving(0), by: 'probe', points, leavesAt: null, mayLeaveAt: null, leavesBy: null, perDay: 0 };
    const jumped = row({ ...steady, value: 8.7, outlook: quiet as MetricView['outlook'] });
    expect(sentenceOf(system(steady, jumped), now, 'Europe/Lisbon')).toBe('pH has jumped; everything else is steady.');
    expect(trendWords(jumped)).toBe('jumped up');
    expect(trendWords({ ...jumped, value: 8.05 })).toBe('steady');
  });

  test('the sentence on top begins with what can wait', () => {
    const alarm = { metric: 'salinity', isStanding: true, state: 'unacknowledged', priority: 'high' };
    const alarms = [alarm as SystemView['alarms'][number]];
    const view = (...systems: SystemView[]) => ({
      ...{ site: 'Room', timezone: 'Europe/Lisbon', time: now, invented: false, edges: [], causes: [] },
      silenceAtMostHours: { high: 12, medium: 72, low: 168 },
      systems: systems.map((each, index) => ({ ...each, id: `s${index}`, name: `Tank ${index}` })),
    });
    const calm = system(steady);
    expect(sentenceOfRoom(view(calm, { ...system(alkalinity), alarms }, { ...system(out), alarms }), now)).toBe(
      'Tank 2: salinity is above its band. 2 active alarms in 2 systems. 1 more needs a look, 1 is steady.',
    );
    expect(sentenceOfRoom(view(calm, { ...system(out), alarms }), now)).toBe(
      '1 active alarm in Tank 1: salinity is above its band. The other one is steady.',
    );
    expect(sentenceOfRoom(view(calm, system(alkalinity)), now)).toBe(
      'Tank 1: alkalinity will leave its band tomorrow evening. The other one is steady.',
    );
  });

  test('the row that leaves first is not on top, or a row that only repeats another crowds it', () => {
    const { first, folded } = rowsOf([steady, repeated, alkalinity, silent, sooner, out], now);
    expect(first.map(({ metric }) => metric)).toEqual(['salinity', 'calcium', 'alkalinity', 'temperature', 'ph']);
    expect(folded.map(({ metric }) => metric)).toEqual(['specific_gravity']);
  });

  test('on a wall of many systems the worst is not first', () => {
    const calm = urgency(system(steady), now);
    const late = urgency(system(steady, alkalinity), now);
    const soon = urgency(system(steady, sooner), now);
    const gone = urgency(system(out), now);
    expect([calm, late, gone, soon].toSorted((a, b) => a - b)).toEqual([gone, soon, late, calm]);
  });
});
