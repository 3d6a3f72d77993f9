import { describe, expect, test } from 'vitest';
import { questionDose, questionWaterChange } from '#hub/judgement/estimate/entry-doubt.ts';
import { plansOf } from '#hub/judgement/estimate/standing-plan.ts';
import type { BodyOf } from '#hub/model/journal/bodies.ts';
import { dayMs, paperConfig, startMs } from './paper-room.ts';

const [system] = paperConfig.systems;
if (system === undefined) throw new Error('the paper room has no system');

describe('what a person typed is asked about before it is stored', () => {
  test('ten times a dose is taken for a dose', () => {
    // 100 mL of the stock raise 0.66 dKH (worked out in containers-and-plan.test.ts); the band allows 0.5 a day.
    expect(questionDose(system, { stock: 'soda', ml: 100 })).toBeUndefined();
    const tenfold = questionDose(system, { stock: 'soda', ml: 1000 });
    expect(tenfold?.ask).toMatch(/raise alkalinity by 6\.6 dKH at once/);
    expect(tenfold).toMatchObject({ typed: '1000 mL', meant: { say: '100 mL', change: { ml: 100 } } });
    expect(questionDose(system, { substance: 'sodium_carbonate', grams: 50 })).toMatchObject({
      ask: expect.stringMatching(/alkalinity/),
      typed: '50 g',
      meant: { change: { grams: 5 } },
    });
    // A hundredfold is no decimal point.
    expect(questionDose(system, { stock: 'soda', ml: 10_000 })?.meant).toBeUndefined();
  });

  test('new water of another unit goes into the estimates', () => {
    expect(
      questionWaterChange(system, { volume_l: 40, alkalinity_dkh: 8, calcium_mg_l: 420, salinity: 35 }),
    ).toBeUndefined();
    expect(questionWaterChange(system, { volume_l: 40, salinity: 0 })).toBeUndefined();
    const inMeq = questionWaterChange(system, { volume_l: 40, alkalinity_dkh: 2.9 });
    expect(inMeq?.ask).toMatch(/^New water\. Alkalinity.*meq\/L/);
    expect(inMeq?.meant).toEqual({ say: '8.13 dKH', change: { alkalinity_dkh: 8.13 } });
    const gravity = questionWaterChange(system, { volume_l: 40, salinity: 1.026 });
    expect(gravity?.ask).toMatch(/specific gravity/);
    expect(gravity?.meant?.change['salinity']).toBeCloseTo(34.5, 1);
    expect(questionWaterChange(system, { volume_l: 350 })?.ask).toMatch(/88 % of the 400 L/);
  });
});

test('the page does not say that the plan is not that of the configuration, or there is no way back', () => {
  const plan = (day: number, body: Omit<BodyOf<'plan'>, 'stock'>) => {
    const timeMs = startMs + day * dayMs;
    return { kind: 'plan' as const, timeMs, recordedMs: timeMs, system: 'display', body: { stock: 'soda', ...body } };
  };
  const changed = plan(1, { ml_per_day: 130, times_per_day: 2 });
  const [own] = plansOf(system, [changed], startMs + 2 * dayMs);
  expect(own).toMatchObject({ mlPerDay: 130, timesPerDay: 2, changedMs: changed.timeMs });
  expect(own?.configured).toEqual({ mlPerDay: 100, timesPerDay: 4 });
  const back = plan(3, { ml_per_day: 1, configured: true });
  expect(plansOf(system, [changed, back], startMs + 4 * dayMs)).toMatchObject([
    { mlPerDay: 100, timesPerDay: 4, changedMs: null },
  ]);
});
