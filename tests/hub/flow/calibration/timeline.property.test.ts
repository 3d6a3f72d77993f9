import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  always,
  beginningMs,
  continued,
  painted,
  type Segment,
  segmentAt,
  segmentsOf,
  timelineOf,
} from '#hub/flow/pipeline/timeline.ts';

const correctionOf = (id: number) => ({ slope: 1 + id / 10, offset: 0 });
const configured = always({ slope: 1, offset: 0 });
const schedule = fc
  .uniqueArray(fc.integer({ min: 0, max: 100 }), { maxLength: 8 })
  .map((times): Segment[] => [
    configured,
    ...times
      .toSorted((a, b) => a - b)
      .map((fromMs, place) => ({ fromMs, correction: correctionOf(place + 1), calibration: place + 1 })),
  ]);
const timeMs = fc.integer({ min: -20, max: 120 });
const idAt = (segments: readonly Segment[], atMs: number) => segmentAt(timelineOf(segments), atMs).calibration;

test('a reading gets another calibration than the newest dated at or before it', () => {
  fc.assert(
    fc.property(schedule, timeMs, (segments, atMs) => {
      const wanted = segments.filter(({ fromMs }) => fromMs <= atMs).at(-1)?.calibration;
      expect(idAt(segments, atMs)).toBe(wanted);
      expect(segmentsOf(timelineOf(segments))).toEqual(segments);
    }),
    { seed: 20260110 },
  );
});

test('a new calibration changes what is said of readings that are stored already', () => {
  fc.assert(
    fc.property(schedule, schedule, timeMs, timeMs, (held, next, storedUpToMs, atMs) => {
      const now = continued(held, next, storedUpToMs);
      expect(idAt(now, atMs)).toBe(atMs <= storedUpToMs ? idAt(held, atMs) : idAt(next, atMs));
      expect(now[0]?.fromMs).toBe(beginningMs);
    }),
    { seed: 20260111 },
  );
});

test('a calibration applied to some hours is said of others too', () => {
  fc.assert(
    fc.property(schedule, timeMs, timeMs, timeMs, (held, one, other, atMs) => {
      const [fromMs, toMs] = [Math.min(one, other), Math.max(one, other) + 1];
      const over = { correction: correctionOf(99), calibration: 99 };
      const now = painted(held, fromMs, toMs, over);
      expect(idAt(now, atMs)).toBe(atMs >= fromMs && atMs < toMs ? 99 : idAt(held, atMs));
      expect(painted(now, fromMs, toMs, over)).toEqual(now);
    }),
    { seed: 20260112 },
  );
});

test('ten years of calibrations grow without a bound, or a forgotten one is guessed', () => {
  let held: Segment[] = [configured];
  for (let week = 1; week <= 600; week += 1) {
    const next = { fromMs: week * 10, correction: correctionOf(week), calibration: week };
    held = continued(held, [configured, next], week * 10 - 1);
  }
  expect(held).toHaveLength(500);
  expect(held[0]).toEqual({ fromMs: beginningMs, correction: null, calibration: null });
  expect(idAt(held, 600 * 10)).toBe(600);
  expect(idAt(held, 102 * 10)).toBe(102);
  expect(segmentAt(timelineOf(held), 101 * 10).correction).toBeNull();
});
