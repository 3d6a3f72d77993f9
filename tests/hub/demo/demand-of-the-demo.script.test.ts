import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { systemClock } from '../../../adapters/clock/system-clock.ts';
import { openStore } from '../../../adapters/sqlite/open-store.ts';
import { playHistory } from '../../../hub/demo/history.ts';
import { stepRoom, systemOf } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { alkalinityOf } from '../../../hub/demo/water.ts';
import { createEntries } from '../../../hub/flow/entries/enter.ts';
import { createEstimator } from '../../../hub/judgement/estimate/estimator.ts';
import { loadedDemoConfig } from './demo-room.ts';

const dir = mkdtempSync(join(tmpdir(), 'brinekeep-demand-'));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

describe('two weeks of the invented keeper', () => {
  it.each([1, 7, 17, 23])(
    'let the hub find the alkalinity demand that the simulated corals really have, asked at %i o’clock',
    (hour) => {
      const config = loadedDemoConfig();
      const nowMs = Date.UTC(2026, 10, 25, hour);
      const store = openStore({
        path: join(dir, `hub-${hour}.db`),
        flushMs: 60_000,
        clock: systemClock,
        onFault: () => {},
      });
      try {
        const entries = createEntries({
          config,
          store,
          question: () => undefined,
          isKnownSubstance: () => false,
          entered: () => {},
        });
        const random = seededRandom(77);
        const room = playHistory(nowMs, 0, random, {
          readings: () => {},
          enter: ({ kind, entry }) => {
            if (kind === 'test') entries.test(entry, nowMs);
            else if (kind === 'dose') entries.dose(entry, nowMs);
            else if (kind === 'water_change') entries.waterChange(entry, nowMs);
          },
        });
        const estimator = createEstimator({ config, store, now: () => nowMs, units: () => ({}) });

        let tomorrow = room;
        for (let minute = 0; minute < 1440; minute += 1) tomorrow = stepRoom(tomorrow, 60, random);
        for (const id of ['display', 'growout']) {
          const { setup, water } = systemOf(room, id);
          // What went in and is not there any more: 2 mmol of alkalinity in a mL of the soda solution, 0.35665 meq/L a dKH.
          const dosed_mmol = 2 * setup.dosing_mL_day.sodiumCarbonate;
          const used_mmol = dosed_mmol + water.alkalinity_mmol - systemOf(tomorrow, id).water.alkalinity_mmol;
          const demand_dKH_day = used_mmol / setup.volumeL / 0.35665;
          const found = estimator.estimate(id, 'alkalinity');
          expect(demand_dKH_day, id).toBeGreaterThan(1.2);
          expect(Math.abs((found?.demandPerDay ?? 0) - demand_dKH_day), id).toBeLessThan(0.2);
          // At whatever hour the past ends: the day's doses must not stand in the level before the water has had them.
          expect(Math.abs((found?.level ?? 0) - alkalinityOf(water)), id).toBeLessThan(0.35);
        }
      } finally {
        store.close();
      }
    },
  );
});
