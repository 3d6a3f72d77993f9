import { describe, expect, test } from 'vitest';
import type { DatedDemandEvidence } from '#rules/trend/demand-track.ts';
import {
  isStatedVolumeOff,
  learnedVolume,
  logEvidenceOfVolume,
  nextVolumeToWeigh,
  scaleStep,
  type WeighedVolume,
} from '#rules/trend/learned-volume.ts';
import { volumeCover } from './learned-volume-cover.ts';
import { seededRandom } from './seeded-random.ts';
import { dayMs } from './simulated-tank.ts';

/** All cases of the long form: TANKS=1000 npx vitest run tests/rules/trend/learned-volume. */
const tanks = Number(process.env['TANKS'] ?? 16);

const startMs = Date.UTC(2026, 0, 5, 9);

/** Tests each day for 40 days with a dose each fifth; the water of a tank without corals moves by mass over volume alone. */
function withoutCorals(ratio: number, dose: (day: number) => number, demand = 0): DatedDemandEvidence[] {
  const random = seededRandom(12);
  const diary: DatedDemandEvidence[] = [];
  let level = 8;
  for (let day = 0; day < 40; day += 1) {
    const timeMs = startMs + day * dayMs;
    diary.push({ timeMs, evidence: { is: 'test', value: level + 0.05 * random.gaussian(), sd: 0.05 } });
    const rise = dose(day);
    if (rise !== 0) diary.push({ timeMs: timeMs + 1, evidence: { is: 'dose', rise } });
    level += rise / ratio - demand;
  }
  return diary;
}

function learn(diary: readonly DatedDemandEvidence[]) {
  const weighed: WeighedVolume[] = [];
  for (let at = nextVolumeToWeigh(weighed); at !== undefined; at = nextVolumeToWeigh(weighed))
    weighed.push({ logRatio: at, logEvidence: { alkalinity: logEvidenceOfVolume('alkalinity', diary, at) } });
  return learnedVolume(weighed);
}

describe('the volume that doses and tests tell', () => {
  // Concentration is amount over volume: in 0.8 of the stated volume each dose raises by 1 / 0.8 of what is written.
  test.each([0.8, 1, 1.25])('a tank of %f times the stated volume is taken for another', (ratio) => {
    const found = learn(withoutCorals(ratio, (day) => (day % 5 === 2 ? 0.6 : 0)));
    expect(found.isLearned).toBe(true);
    expect(found.ratio / ratio).toBeCloseTo(1, 1);
    expect(found.low95).toBeLessThan(ratio);
    expect(found.high95).toBeGreaterThan(ratio);
    expect(isStatedVolumeOff(found)).toBe(ratio !== 1);
  });

  test('dosing that never changes is taken for a measure of the volume: another use explains it as well', () => {
    const found = learn(withoutCorals(0.8, () => 0.5, 0.625));
    expect(found.isLearned).toBe(false);
    expect(isStatedVolumeOff(found)).toBe(false);
  });

  test('a volume beyond all that is looked at is given as known', () => {
    const found = learn(withoutCorals(4, (day) => (day % 5 === 2 ? 1 : 0)));
    expect(found.isLearned).toBe(false);
  });

  test('a coarse scale is taken for a fine one', () => {
    const tests = (...values: number[]): DatedDemandEvidence[] =>
      values.map((value, day) => ({ timeMs: startMs + day * dayMs, evidence: { is: 'test', value } }));
    expect(scaleStep(tests(8, 8.5, 9, 8.5))).toBe(0.5);
    expect(scaleStep(tests(420, 440, 400))).toBe(20);
    expect(scaleStep(tests(8.1, 8.3, 8.2))).toBe(0.1);
    expect(scaleStep(tests(8.123, 8.301, 8.2))).toBe(0);
    expect(scaleStep(tests(8, 8))).toBe(0);
  });

  test('a volume is told from nothing', () => {
    expect(() => learnedVolume([])).toThrow('volumes weighed');
    expect(() => logEvidenceOfVolume('alkalinity', [], Number.NaN)).toThrow('logarithm of the volume ratio');
  });

  test('the interval is too narrow, or too wide, for simulated tanks whose keepers state it wrong', {
    timeout: 4e6,
  }, () => {
    const cover = volumeCover(Array.from({ length: tanks }, (_, at) => 2001 + at));
    console.log(
      `volume learned, ${tanks} tanks: 95 % intervals held ${(100 * cover.covered).toFixed(1)} %; ${cover.learned} learned, ` +
        `held ${(100 * cover.coveredOfLearned).toFixed(1)} %, error ${cover.errorPercent.toFixed(1)} %, half width ${cover.halfWidthPercent.toFixed(1)} %`,
    );
    const [least, most] = tanks >= 500 ? [0.92, 0.98] : [0.8, 1];
    expect(cover.covered).toBeGreaterThanOrEqual(least);
    expect(cover.covered).toBeLessThanOrEqual(most);
    expect(cover.learned).toBeGreaterThan(tanks / 3);
    expect(cover.errorPercent).toBeLessThan(12);
  });
});
