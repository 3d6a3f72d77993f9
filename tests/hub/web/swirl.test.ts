import { describe, expect, test } from 'vitest';
import { swirlPrompt } from '#hub/web/src/corals/timer.ts';

const startMs = Date.UTC(2026, 2, 2, 9);
const at = (seconds: number) => startMs + seconds * 1000;
const timer = {
  started: new Date(startMs).toISOString(),
  ends: new Date(at(7 * 60)).toISOString(),
  maximum: new Date(at(10 * 60)).toISOString(),
  left_seconds: 420,
};

// Once a minute: common practice, no published source.
describe('the water of a dip', () => {
  test('is never moved, or all the time', () => {
    const said = Array.from({ length: 360 }, (_, second) => swirlPrompt(timer, at(second)));
    const starts = said.filter((text, second) => text?.startsWith('Swirl') && said[second - 1] !== text);
    expect(starts).toHaveLength(6);
    expect(said.filter((text) => text?.startsWith('Swirl'))).toHaveLength(6 * 15);
  });

  test('is to be moved while hands are dried, or after the time', () => {
    for (const second of [6 * 60, 7 * 60, 8 * 60, 11 * 60]) expect(swirlPrompt(timer, at(second))).toBeUndefined();
  });
});
