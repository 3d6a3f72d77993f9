import fc from 'fast-check';
import { expect, it } from 'vitest';
import { createEstimator } from '#hub/judgement/estimate/estimator.ts';
import { openPaperRoom, paperConfig, startMs } from './paper-room.ts';

const hourMs = 3_600_000;

const deed = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({ do: fc.constant('test' as const), value: fc.double({ min: 7, max: 9, noNaN: true }) }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('dose' as const), ml: fc.integer({ min: 1, max: 200 }) }) },
  fc.record({ do: fc.constant('water_change' as const), volume_l: fc.integer({ min: 5, max: 100 }) }),
  fc.record({ do: fc.constant('plan' as const), ml_per_day: fc.integer({ min: 0, max: 200 }) }),
  fc.record({ do: fc.constant('arrival' as const) }),
  fc.record({ do: fc.constant('withdraw' as const), which: fc.nat() }),
);
/** Each is entered some hours after the one before, for a time up to twelve days earlier. */
const diary = fc.array(fc.record({ deed, waitHours: fc.nat({ max: 60 }), agoHours: fc.nat({ max: 290 }) }), {
  minLength: 4,
  maxLength: 10,
});

it('the level and demand depend on the order in which the same was entered', () => {
  fc.assert(
    fc.property(diary, (written) => {
      const room = openPaperRoom();
      try {
        const ids: number[] = [];
        for (const { deed: each, waitHours, agoHours } of written) {
          room.waitDays(waitHours / 24, 12);
          const time = new Date(Math.max(startMs, room.now() - agoHours * hourMs)).toISOString();
          const given = { system: 'display', time };
          if (each.do === 'test')
            ids.push(
              room.entries.test({ ...given, analyte: 'alkalinity', value: each.value, confirmed: true }, room.now()).id,
            );
          if (each.do === 'dose') ids.push(room.entries.dose({ ...given, stock: 'soda', ml: each.ml }, room.now()).id);
          if (each.do === 'water_change')
            ids.push(room.entries.waterChange({ ...given, volume_l: each.volume_l }, room.now()).id);
          if (each.do === 'plan')
            ids.push(room.entries.plan({ ...given, stock: 'soda', ml_per_day: each.ml_per_day }, room.now()).id);
          if (each.do === 'arrival') room.commit('arrival', Date.parse(time), {});
          const id = each.do === 'withdraw' ? ids.splice(each.which % Math.max(1, ids.length), 1)[0] : undefined;
          if (id !== undefined) room.entries.withdraw(id, 'keeper', room.now());
          // Knows nothing yet, so that it reads the whole diary from its first page.
          const fresh = createEstimator({ config: paperConfig, store: room.store, now: room.now, units: () => ({}) });
          expect(room.estimator.estimate('display', 'alkalinity')).toEqual(fresh.estimate('display', 'alkalinity'));
        }
      } finally {
        room.close();
      }
    }),
    { numRuns: 8, seed: 41 },
  );
});
