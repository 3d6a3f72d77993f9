import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Command, Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomRules, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { Bands, RuleOverride, WatchedProbe } from '#rules/bands/watched-room.ts';
import type { Quality } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';

/**
 * A short notation for alarm tests. A series is one token for each interval:
 *   `25.5` a good value · `25.5?` suspect · `25.5!` failed · `x` a failed reading without a sensible number ·
 *   `.` nothing came · `25.5*30` thirty times · `25>27*20` twenty values from 25 to 27
 */
export type Script = {
  bands: Bands;
  probes?: WatchedProbe[];
  overrides?: RuleOverride[];
  everyMs?: number;
  startMs?: number;
  /** By `metric` or `metric/probe`. */
  series: Record<string, string>;
  /** By minute from the start. */
  at?: Record<number, Command | Evidence>;
  /** What an earlier run left behind. */
  state?: RoomState;
  /** Stores and restores the state through JSON before each step. */
  isRestartedEachStep?: boolean;
};

export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
/** A Monday, midnight UTC. */
export const mondayMs = Date.UTC(2024, 0, 1);

export type Run = { events: AlarmEvent[]; state: RoomState; rules: RoomRules; nowMs: number };

/** Runs the script with a tick after each interval, as the hub and the replay do. */
export function run(script: Script): Run {
  const everyMs = script.everyMs ?? minuteMs;
  const startMs = script.startMs ?? mondayMs;
  const rules = rulesForRoom({
    systems: [{ id: 'tank', name: 'Tank', volumeL: 400, bands: script.bands, probes: script.probes ?? [] }],
    overrides: script.overrides ?? [],
  });
  const parsed = Object.entries(script.series).map(([name, text]) => {
    const [metric, probe] = name.split('/') as [Metric, string | undefined];
    return { series: { system: 'tank', metric, probe: probe ?? metric }, qualities: parse(text) };
  });
  const steps = Math.max(...parsed.map(({ qualities }) => qualities.length));
  let state = script.state ?? emptyRoomState();
  const events: AlarmEvent[] = [];
  const offer = (evidence: Evidence, nowMs: number): void => {
    if (script.isRestartedEachStep) state = JSON.parse(JSON.stringify(state)) as RoomState;
    const result = stepRoom(rules, state, evidence, nowMs);
    state = result.state;
    events.push(...result.events);
  };
  for (let step = 0; step < steps; step += 1) {
    const nowMs = startMs + step * everyMs;
    for (const { series, qualities } of parsed) {
      const quality = qualities[step];
      if (quality !== undefined) offer({ is: 'reading', reading: { series, timeMs: nowMs, quality } }, nowMs);
    }
    for (const [minute, what] of Object.entries(script.at ?? {})) {
      const dueMs = startMs + Number(minute) * minuteMs;
      if (dueMs < nowMs || dueMs >= nowMs + everyMs) continue;
      offer('is' in what ? what : { is: 'command', command: what }, dueMs);
    }
    for (let tickMs = nowMs; tickMs < nowMs + everyMs; tickMs += minuteMs / 2) offer({ is: 'time' }, tickMs);
  }
  return { events, state, rules, nowMs: startMs + steps * everyMs };
}

/** Transitions as `minute state alarm`, the alarm without the name of the only system. */
export function transitions(ran: Run, startMs: number = mondayMs): string[] {
  return ran.events.map((event) => {
    const minutes = Math.round((event.timeMs - startMs) / minuteMs);
    return `${minutes} ${event.state} ${event.alarm.replace(/^tank\//, '')}`;
  });
}

function parse(text: string): (Quality | undefined)[] {
  return text.trim().split(/\s+/).flatMap(parseToken);
}

function parseToken(token: string): (Quality | undefined)[] {
  const [what, times] = token.split('*') as [string, string | undefined];
  const count = times === undefined ? 1 : Number(times);
  const ramp = /^(-?[\d.]+)>(-?[\d.]+)$/.exec(what);
  return Array.from({ length: count }, (_, i) => {
    if (ramp === null) return one(what);
    const [from, to] = [Number(ramp[1]), Number(ramp[2])];
    return { flag: 'pass', value: from + ((to - from) * i) / Math.max(1, count - 1) };
  });
}

function one(what: string): Quality | undefined {
  if (what === '.') return undefined;
  if (what === 'x') return { flag: 'fail', raw: -127, why: 'script' };
  const value = Number.parseFloat(what);
  if (!Number.isFinite(value)) throw new Error(`no value in "${what}"`);
  if (what.endsWith('?')) return { flag: 'suspect', value, why: 'script' };
  if (what.endsWith('!')) return { flag: 'fail', raw: value, why: 'script' };
  return { flag: 'pass', value };
}
