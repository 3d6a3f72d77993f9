import type { Series } from '../quality/reading.ts';
import { silenceAllowedMs } from '../verdicts/silence.ts';
import { silentConditionOf } from './kinds/silent-probe.ts';
import { indexOf } from './room-index.ts';
import type { RoomRules } from './room-rules.ts';
import type { RoomState } from './room-state.ts';

export type Silence = {
  /** By the same judgement as the alarm's, whether or not its rule is on. */
  isSilent: boolean;
  /** How long it may be silent, by the configuration or its habit, ms; null while nothing is expected of it. */
  allowedMs: number | null;
};

/** What the rules think of the silence of one stream; nothing is expected of one that they do not know. */
export function silenceOf(rules: RoomRules, state: RoomState, series: Series, nowMs: number): Silence {
  const room = indexOf(rules, state, nowMs);
  const stream = room.byName.get(series.metric)?.get(series.system)?.get(series.probe);
  if (stream === undefined) return { isSilent: false, allowedMs: null };
  const allowedMs = silenceAllowedMs(stream.series.habit, stream.everyMs, stream.plan.defaults.isStreamed) ?? null;
  return { isSilent: silentConditionOf(room, stream) === 'abnormal', allowedMs };
}
