import { minuteMs } from '../../clock/durations.ts';
import { silenceAllowedMs } from '../../verdicts/silence.ts';
import { durationText } from '../../words/value-text.ts';
import type { Condition } from '../condition.ts';
import type { RoomIndex, Stream } from '../room-index.ts';
import { type AlarmKind, probePriority } from './kind.ts';

/**
 * A probe that says nothing. The silence is judged when only time passes; a reading alone ends it.
 *
 * @param silentMs   time without a word while the hub was listening
 * @param allowedMs  from `silenceAllowedMs`
 * @param isHeardAgain  a reading came since the hub began to listen: without one, a short silence proves nothing
 */
export function silentCondition(silentMs: number, allowedMs: number | undefined, isHeardAgain: boolean): Condition {
  if (allowedMs === undefined) return 'unknown';
  if (silentMs > allowedMs) return 'abnormal';
  return isHeardAgain ? 'normal' : 'unknown';
}

/** The silence of one stream at this moment. */
export function silentConditionOf(room: RoomIndex, stream: Stream): Condition {
  const { series, plan } = stream;
  // After its edge came back it gets its usual time again; while the edge is down its silence is latched and hidden.
  const edgeUpMs = room.edgeUpMs.get(series.probe) ?? 0;
  const listeningMs = Math.max(room.state.listeningSinceMs, Number.isFinite(edgeUpMs) ? edgeUpMs : 0);
  const allowedMs = silenceAllowedMs(series.habit, stream.everyMs, plan.defaults.isStreamed);
  const isHeardAgain = series.hasSpoken && series.heardMs >= listeningMs;
  return silentCondition(room.nowMs - Math.max(series.heardMs, listeningMs), allowedMs, isHeardAgain);
}

export const silentProbe: AlarmKind<'silent_probe', 'silent', never> = {
  id: 'silent_probe',
  means: 'No reading for longer than usual for this probe. That water is unwatched now.',
  firstLook: 'power, plug, cable, then the network or the broker.',
  appliesTo: 'metric',
  hasDeadband: false,
  onStream: {
    silent: {
      slot: 6,
      // The time without a word is the delay; the return must last, or a loose plug would report every contact.
      defaults: ({ band }) => ({
        priority: probePriority(band),
        offDelayMs: 5 * minuteMs,
        gapToleranceMs: 60 * minuteMs,
      }),
      judge: {
        each: 'look',
        condition: ({ room, stream }) => silentConditionOf(room, stream),
      },
      raised({ name, value, stream: { series }, nowMs }) {
        const silent = durationText(nowMs - series.heardMs);
        if (!series.hasSpoken)
          return `${name}: the probe has not been heard for ${silent}. Check its power and its cable.`;
        const last = series.goodValue === null ? '' : ` The last good value was ${value}.`;
        return `${name}: no reading for ${silent}.${last} Check the probe's power and its cable.`;
      },
      returned: ({ name, valueAfter }) => `${name} is heard again${valueAfter}.`,
    },
  },
  elsewhere: {},
};
