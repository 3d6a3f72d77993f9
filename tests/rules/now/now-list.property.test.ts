import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { StandingAlarm } from '#rules/bands/standing-alarms.ts';
import type { ArrivalFacts, NowFacts, RunFacts } from '#rules/now/facts.ts';
import { nowLines, nowList } from '#rules/now/now-list.ts';
import { alarm, calmRoom, dayMs, minuteMs, noonMs, room, soak } from './room-facts.ts';

const near = fc.integer({ min: -3 * dayMs, max: 3 * dayMs }).map((byMs) => noonMs + byMs);
const system = fc.constantFrom('display', 'frags', 'gone');

const alarms: fc.Arbitrary<StandingAlarm[]> = fc
  .array(
    fc.record({
      system,
      rule: fc.constantFrom(
        'out_of_band',
        'drift',
        'test_overdue',
        'container_low',
        'calibration_overdue',
        'edge_fault',
      ),
      priority: fc.constantFrom('high', 'medium', 'low'),
      state: fc.constantFrom('unacknowledged', 'acknowledged', 'returned_unacknowledged', 'shelved', 'suppressed'),
      metric: fc.constantFrom('alkalinity', 'calcium'),
      sinceMs: near,
    }),
    { maxLength: 8 },
  )
  .map((all) =>
    all.map((each, place) =>
      alarm({
        ...(each as Partial<StandingAlarm>),
        ...{ id: `${each.system}/${each.metric}/${each.rule}/${place}` },
        isStanding: each.state !== 'returned_unacknowledged',
      }),
    ),
  );

const runs: fc.Arbitrary<RunFacts[]> = fc
  .array(
    fc.record({
      system,
      step: fc.constantFrom('float', 'soak', 'rinse_bath', 'new_plug', 'placement'),
      endsInMin: fc.option(fc.integer({ min: -60, max: 60 }), { nil: undefined }),
    }),
    { maxLength: 5 },
  )
  .map((all) =>
    all.map(({ endsInMin, step, system: place }, index): RunFacts => {
      const { clock: _, ...untimed } = soak({ run: `a1-${index}`, system: place, step: step as RunFacts['step'] });
      const endsMs = noonMs + (endsInMin ?? 0) * minuteMs;
      return endsInMin === undefined ? untimed : { ...untimed, clock: { startedMs: endsMs - 7 * minuteMs, endsMs } };
    }),
  );

const arrivals: fc.Arbitrary<ArrivalFacts[]> = fc
  .array(fc.record({ system, isInBags: fc.boolean(), isHere: fc.boolean(), dueMs: near, expectedMs: near }), {
    maxLength: 4,
  })
  .map((all) =>
    all.map(
      ({ isHere, dueMs, expectedMs, ...each }, index): ArrivalFacts => ({
        ...{ ...each, arrival: `a${index}`, name: `Arrival ${index}`, state: isHere ? 'arrived' : 'expected' },
        ...{ inspection: { dueMs, lookFor: 'bites' }, expectedMs },
      }),
    ),
  );

const tests: fc.Arbitrary<NowFacts['tests']> = fc
  .array(fc.record({ system, analyte: fc.constantFrom('alkalinity', 'calcium'), dueMs: near }), { maxLength: 4 })
  .map((all) =>
    all
      .filter(
        ({ system: place, analyte }, index) =>
          all.findIndex((each) => each.system === place && each.analyte === analyte) === index,
      )
      .map((each) => ({ ...each, label: each.analyte })),
  );

const facts: fc.Arbitrary<NowFacts> = fc.record({ alarms, runs, arrivals, tests }).map(room);

describe('any room at any hour', () => {
  it('an active alarm, or a clock that runs, is in the list twice or not at all', () => {
    fc.assert(
      fc.property(facts, (given) => {
        const { deeds } = nowList(given);
        for (const { id, rule, state, system: place, metric } of given.alarms) {
          if (state === 'shelved' || state === 'suppressed') {
            expect(deeds.filter((deed) => deed.id === `alarm:${id}`)).toEqual([]);
            continue;
          }
          const own = deeds.filter((deed) => deed.id === `alarm:${id}`);
          if (rule !== 'test_overdue') expect(own).toHaveLength(1);
          else if (state !== 'returned_unacknowledged' && !isSilenced(given, place, metric))
            expect(
              deeds.filter(({ act }) => act.do === 'test' && act.system === place && act.analytes.includes(metric)),
            ).toHaveLength(1);
        }
        for (const { run, clock } of given.runs) {
          const own = deeds.filter(({ id }) => id === `run:${run}`);
          expect(own).toHaveLength(1);
          expect(own[0]?.clock).toEqual(clock);
        }
      }),
    );
  });

  it('two lines have one name, something later comes before something now, or an empty list has no sentence', () => {
    const places = ['now', 'today', 'soon'];
    fc.assert(
      fc.property(facts, (given) => {
        const list = nowList(given);
        const ids = list.deeds.map(({ id }) => id);
        expect(new Set(ids).size).toBe(ids.length);
        expect(list.calm === undefined).toBe(list.deeds.length > 0);
        expect(list.calm?.length === 0).toBe(false);
        const urgencies = list.deeds.map(({ urgency }) => places.indexOf(urgency));
        expect(urgencies).toEqual(urgencies.toSorted((one, other) => one - other));
        const lines = nowLines(list, calmRoom.tanks, noonMs, 'Today');
        expect(lines.length).toBeLessThanOrEqual(7);
        expect(lines.join('')).not.toContain('undefined');
      }),
    );
  });

  it('what is to do hangs on the order in which the facts came', () => {
    fc.assert(
      fc.property(facts, (given) => {
        const turned = {
          ...given,
          alarms: given.alarms.toReversed(),
          runs: given.runs.toReversed(),
          arrivals: given.arrivals.toReversed(),
        };
        const names = (list: NowFacts) =>
          nowList(list)
            .deeds.map(({ id }) => id)
            .toSorted();
        expect(names(turned)).toEqual(names(given));
      }),
    );
  });
});

const isSilenced = ({ alarms: all }: NowFacts, place: string, metric: string) =>
  all.some(
    (each) =>
      each.rule === 'test_overdue' && each.state === 'shelved' && each.system === place && each.metric === metric,
  );
