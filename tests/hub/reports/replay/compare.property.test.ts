import fc from 'fast-check';
import { expect, test } from 'vitest';
import { differences } from '#hub/reports/replay/compare.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';

const hourMs = 3_600_000;
const start = Date.UTC(2026, 2, 10);

function event(alarm: string, state: AlarmEvent['state'], timeMs: number): AlarmEvent {
  return {
    ...{ timeMs, alarm, occurrence: 1, state, system: 'a', metric: 'temperature', rule: 'out_of_band' },
    ...{ priority: 'high', message: '' },
  };
}

/** Times in hours: raised, cleared, raised, … of one alarm. */
const alarm = (id: string, ...hours: number[]) =>
  hours.map((hour, index) => event(id, index % 2 === 0 ? 'raised' : 'cleared', start + hour * hourMs));

const brief = (oldHours: number[], newHours: number[]) =>
  differences(alarm('x', ...oldHours), alarm('x', ...newHours)).map((each) => {
    const hour = (each.event.timeMs - start) / hourMs;
    const from = each.change === 'moved' ? ` from ${(each.oldTimeMs - start) / hourMs}` : '';
    return `${each.change} ${each.event.state} ${hour}${from}`;
  });

test('a keeper cannot see which alarms a changed rule spares, adds or moves', () => {
  expect(brief([1, 2], [1, 2])).toEqual([]);
  expect(brief([1, 2], [])).toEqual(['only_old raised 1', 'only_old cleared 2']);
  expect(brief([1, 2], [1.5, 2])).toEqual(['moved raised 1.5 from 1']);
  expect(brief([1, 2], [9, 10])).toEqual([
    'only_old raised 1',
    'only_old cleared 2',
    'only_new raised 9',
    'only_new cleared 10',
  ]);
  expect(brief([1, 2], [1])).toEqual(['only_old cleared 2']);
  // Two where there was one: the nearer one is the same.
  expect(brief([5, 6], [4.5, 4.6, 5, 6])).toEqual(['only_new raised 4.5', 'only_new cleared 4.6']);
  expect(brief([4.5, 4.6, 5, 6], [5, 6])).toEqual(['only_old raised 4.5', 'only_old cleared 4.6']);
});

const historyArb = fc
  .array(
    fc.record({
      id: fc.constantFrom('x', 'y', 'z'),
      hours: fc.uniqueArray(fc.integer({ min: 0, max: 200 }), { maxLength: 12 }),
    }),
    {
      maxLength: 3,
    },
  )
  .map((alarms) => {
    const byId = new Map(alarms.map(({ id, hours }) => [id, hours.sort((a, b) => a - b)]));
    return [...byId].flatMap(([id, hours]) => alarm(id, ...hours)).sort((a, b) => a.timeMs - b.timeMs);
  });

test('an event is left out of the comparison, or the same record differs from itself', () => {
  fc.assert(
    fc.property(historyArb, historyArb, (olds, news) => {
      expect(differences(olds, olds)).toEqual([]);
      const found = differences(olds, news);
      // What is only in the old, taken away, and what is only in the new, added, gives the new.
      const without = found.filter(({ change }) => change !== 'only_new');
      const gone = new Set(
        without.map(
          (each) =>
            `${each.event.alarm} ${each.event.state} ${each.change === 'moved' ? each.oldTimeMs : each.event.timeMs}`,
        ),
      );
      const kept = olds.filter(({ alarm: id, state, timeMs }) => !gone.has(`${id} ${state} ${timeMs}`));
      const added = found.filter(({ change }) => change !== 'only_old').map((each) => each.event);
      const names = (events: readonly AlarmEvent[]) =>
        events.map(({ alarm: id, state, timeMs }) => `${id} ${state} ${timeMs}`).sort();
      expect(names([...kept, ...added])).toEqual(names(news));
      const swapped = differences(news, olds);
      expect(swapped.filter(({ change }) => change === 'only_old')).toHaveLength(
        found.filter(({ change }) => change === 'only_new').length,
      );
    }),
  );
});
