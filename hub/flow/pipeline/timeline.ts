import * as z from 'zod';
import { type Correction, correctionSchema } from '../../model/journal/calibration-schema.ts';
import { isSameCorrection } from './correction.ts';

/** Before every reading. */
export const beginningMs = Number.MIN_SAFE_INTEGER;

/** Two a week for five years; beyond it the oldest are forgotten, and what they corrected cannot be undone any more. */
const mostSegments = 500;

const segmentSchema = z.strictObject({
  /** Readings from this time on, UTC milliseconds. */
  fromMs: z.number(),
  /** Null: forgotten. */
  correction: correctionSchema.nullable(),
  /** Its journal entry; null for the configuration. */
  calibration: z.number().nullable(),
});

export const segmentsSchema = z.array(segmentSchema).min(1);

/** From when on, by the time of a reading, which correction holds, until the next segment begins. */
export type Segment = z.infer<typeof segmentSchema>;

/** Segments of one probe by time, the newest at hand: nearly every reading falls into it. */
export type Timeline = { newest: Segment; earlier: readonly Segment[] };

/** @param segments  oldest first, at least one, the first from `beginningMs` */
export function timelineOf(segments: readonly Segment[]): Timeline {
  return { newest: segments.at(-1)!, earlier: segments.slice(0, -1) };
}

export function segmentsOf(timeline: Timeline): Segment[] {
  return [...timeline.earlier, timeline.newest];
}

/** One correction for all times, by the configuration. */
export function always(correction: Correction): Segment {
  return { fromMs: beginningMs, correction, calibration: null };
}

export function segmentAt(timeline: Timeline, timeMs: number): Segment {
  if (timeMs >= timeline.newest.fromMs) return timeline.newest;
  return timeline.earlier.findLast((segment) => timeMs >= segment.fromMs) ?? timeline.newest;
}

/** What held up to and including `afterMs`, and from then on what `schedule` says. Both oldest first. */
export function continued(held: readonly Segment[], schedule: readonly Segment[], afterMs: number): Segment[] {
  const nextMs = afterMs + 1;
  const before = held.filter((segment) => segment.fromMs < nextMs);
  return joined([...before, ...from(schedule, nextMs)]);
}

/** The same, with one calibration over [fromMs, toMs). */
export function painted(
  held: readonly Segment[],
  fromMs: number,
  toMs: number,
  over: Omit<Segment, 'fromMs'>,
): Segment[] {
  const before = held.filter((segment) => segment.fromMs < fromMs);
  return joined([...before, { ...over, fromMs }, ...from(held, toMs)]);
}

/** The part of the segments that holds from a time on. */
function from(segments: readonly Segment[], fromMs: number): Segment[] {
  const at = segments.findLastIndex((segment) => segment.fromMs <= fromMs);
  return segments.slice(Math.max(at, 0)).map((segment) => ({ ...segment, fromMs: Math.max(segment.fromMs, fromMs) }));
}

/** Neighbours that say the same become one, and the list keeps its bound. */
function joined(segments: readonly Segment[]): Segment[] {
  const distinct = segments.filter((segment, place) => {
    const before = segments[place - 1];
    return before === undefined || !isSame(before, segment);
  });
  if (distinct.length <= mostSegments) return distinct;
  const kept = distinct.slice(-mostSegments);
  return [{ fromMs: beginningMs, correction: null, calibration: null }, ...kept.slice(1)];
}

function isSame(one: Segment, other: Segment): boolean {
  if (one.calibration !== other.calibration) return false;
  if (one.correction === null || other.correction === null) return one.correction === other.correction;
  return isSameCorrection(one.correction, other.correction);
}
