import { minuteMs } from '../clock/durations.ts';
import { mostSoakMinutes } from './bath.ts';
import type { ProtocolStep } from './protocol.ts';

/** How long before the end a soak is announced, as wet hands need time to dry. */
const warnBeforeMs = minuteMs;
/** How often a soak past its maximum calls again, and how many times: after that somebody has seen it or nobody will. */
const callAgainMs = minuteMs;
const mostCalls = 30;

/** Plain data: what a timer is set to and what it has said. */
export type StepTimer = {
  startedMs: number;
  endsMs: number;
  /** Soak only: when it calls louder. */
  maximumMs?: number;
  saidEndsSoon: boolean;
  saidEnded: boolean;
  /** Calls at and past the maximum. */
  maximumCalls: number;
};

/** What a timer says. `loud`: at and past the hard maximum, to be sent at the highest priority. */
export type TimerCall = { kind: 'ends_soon' | 'ended' | 'at_maximum'; isLoud: boolean; overMs: number };

/** The timer of a step that has minutes; undefined for one that takes as long as it takes. */
export function timerFor(step: ProtocolStep, nowMs: number): StepTimer | undefined {
  if (!('minutes' in step) || step.minutes === undefined) return undefined;
  const isSoak = step.kind === 'soak';
  const most = isSoak ? Math.min(step.mostMinutes ?? mostSoakMinutes, mostSoakMinutes) : undefined;
  return {
    startedMs: nowMs,
    endsMs: nowMs + Math.min(step.minutes, most ?? Number.POSITIVE_INFINITY) * minuteMs,
    ...(most === undefined ? {} : { maximumMs: nowMs + most * minuteMs }),
    // Floating bags can wait: only a soak is announced before it ends.
    saidEndsSoon: !isSoak,
    saidEnded: false,
    maximumCalls: 0,
  };
}

/**
 * What a timer has to say by now, each thing once; past the maximum again every minute. After a gap, as a restart makes
 * one, it says where the soak stands and leaves out what is overtaken.
 */
export function timerCalls(timer: StepTimer, nowMs: number): { timer: StepTimer; calls: TimerCall[] } {
  const { endsMs, maximumMs } = timer;
  if (maximumMs !== undefined && nowMs >= maximumMs) {
    const callsByNow = Math.min(mostCalls, 1 + Math.floor((nowMs - maximumMs) / callAgainMs));
    if (callsByNow <= timer.maximumCalls) return { timer, calls: [] };
    const call = { kind: 'at_maximum', isLoud: true, overMs: nowMs - maximumMs } as const;
    return { timer: { ...timer, saidEndsSoon: true, saidEnded: true, maximumCalls: callsByNow }, calls: [call] };
  }
  if (nowMs >= endsMs && !timer.saidEnded) {
    const call = { kind: 'ended', isLoud: false, overMs: nowMs - endsMs } as const;
    return { timer: { ...timer, saidEndsSoon: true, saidEnded: true }, calls: [call] };
  }
  if (nowMs >= endsMs - warnBeforeMs && !timer.saidEndsSoon) {
    return {
      timer: { ...timer, saidEndsSoon: true },
      calls: [{ kind: 'ends_soon', isLoud: false, overMs: nowMs - endsMs }],
    };
  }
  return { timer, calls: [] };
}

/** When the timer has something to say next; undefined when it has said all. */
export function nextCallMs(timer: StepTimer): number | undefined {
  if (!timer.saidEndsSoon) return timer.endsMs - warnBeforeMs;
  if (!timer.saidEnded) return timer.endsMs;
  if (timer.maximumMs === undefined || timer.maximumCalls >= mostCalls) return undefined;
  return timer.maximumMs + timer.maximumCalls * callAgainMs;
}
