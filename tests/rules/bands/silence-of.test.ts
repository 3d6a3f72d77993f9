import { expect, test } from 'vitest';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { silenceOf } from '#rules/bands/silence-of.ts';
import { isSilentBy } from '#rules/verdicts/silence.ts';
import { minuteMs, mondayMs } from './script.ts';

// How often a probe speaks is learned from it; five missed readings are silence: common practice, no published source.

const series = { system: 'tank', metric: 'temperature', probe: 'slow' } as const;

/** A probe that spoke thirty times, once in so many minutes; what is thought of it later. */
function spoke(everyMinutes: number, rule: { enabled: boolean } = { enabled: true }) {
  const systems = [
    { id: 'tank', name: 'Tank', volumeL: 400, bands: { temperature: { low: 25, high: 26 } }, probes: [] },
  ];
  const rules = rulesForRoom({ systems, overrides: [{ rule: 'silent_probe', ...rule }] });
  const state = emptyRoomState();
  let lastMs = mondayMs;
  for (let at = 0; at < 30; at += 1) {
    lastMs = mondayMs + at * everyMinutes * minuteMs;
    const quality = { flag: 'pass', value: 25.5 + (at % 2) / 10 } as const;
    stepRoom(rules, state, { is: 'reading', reading: { series, timeMs: lastMs, quality } }, lastMs);
  }
  return {
    after: (minutes: number) => {
      const nowMs = lastMs + minutes * minuteMs;
      for (let ms = lastMs; ms <= nowMs; ms += 5 * minuteMs) stepRoom(rules, state, { is: 'time' }, ms);
      stepRoom(rules, state, { is: 'time' }, nowMs);
      const alarm = state.series[0]?.alarms.some((each) => each?.rule === 'silent_probe' && each.isLatched);
      const verdict = silenceOf(rules, state, series, nowMs);
      return { ...verdict, isAlarmed: alarm === true, isSilentThere: isSilentBy(verdict.allowedMs, lastMs, nowMs) };
    },
  };
}

test.each([
  [10, 30, false],
  [10, 51, true],
  [1, 4, false],
  [1, 6, true],
])('a probe that speaks every %d min is called silent %d min later by one and heard by another', (every, later, is) => {
  expect(spoke(every).after(later)).toMatchObject({ isSilent: is, isAlarmed: is, isSilentThere: is });
});

test('a silence is not known because its alarm was switched off, or is told of a stream that nobody knows', () => {
  expect(spoke(1, { enabled: false }).after(10)).toMatchObject({ isSilent: true, isAlarmed: false });
  const rules = rulesForRoom({ systems: [], overrides: [] });
  expect(silenceOf(rules, emptyRoomState(), series, mondayMs)).toEqual({ isSilent: false, allowedMs: null });
});
