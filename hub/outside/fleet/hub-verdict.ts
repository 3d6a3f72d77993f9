import type { Clock } from '#adapters/ports/edge.ts';
import type { Priority } from '#rules/bands/watched-room.ts';
import { type HubState, hubStates } from '#rules/verdicts/hub-state.ts';
import { type ValueState, valueState } from '#rules/verdicts/value-state.ts';
import type { HeardReading, HubRecord } from './fleet-state.ts';
import type { HubAlarm } from './hub-messages.ts';

export type JudgedReading = HeardReading & {
  state: ValueState;
  ageMs: number;
  band: { low: number; high: number } | null;
};

export type HubVerdict = {
  state: HubState;
  /** Of the standing alarm that matters most. */
  priority: Priority | null;
  /** Since nothing is known of it, UTC ms; null while all is well, or where it cannot be said. */
  lastHeardMs: number | null;
  /** That are neither shelved nor suppressed, the most urgent first, those that nobody has acknowledged before others. */
  alarms: HubAlarm[];
  readings: JudgedReading[];
};

const urgency: Record<Priority, number> = { high: 0, medium: 1, low: 2 };
const hidden = new Set<HubAlarm['state']>(['cleared', 'shelved', 'unshelved', 'suppressed']);

/** @param silentAfterMs  age from which a heartbeat is old */
export function judgeHub(record: HubRecord, clock: Clock, silentAfterMs: number): HubVerdict {
  const nowMs = clock.nowMs();
  const monotonicMs = clock.monotonicMs();
  const alarms = [...record.alarms.values()]
    .filter(({ state }) => !hidden.has(state))
    .toSorted((a, b) => rankOf(a) - rankOf(b) || a.time - b.time);
  const bands = new Map(record.about?.systems.map(({ id, bands: own }) => [id, own]));
  const readings = [...record.series.values()].map((reading) => {
    const ageMs = Math.max(0, nowMs - reading.timeMs);
    const band = bands.get(reading.system)?.[reading.metric] ?? null;
    return { ...reading, ageMs, band, state: valueState({ ...reading, band }) };
  });
  const heartMs = heartbeatAgeMs(record, nowMs, monotonicMs);
  const lastHeardMs = heartMs === undefined ? null : nowMs - heartMs;
  const isThere = (heartMs ?? monotonicMs - record.firstHeardMonotonicMs) <= silentAfterMs;
  const has = (state: ValueState) => readings.some((reading) => reading.state === state);
  const common = { priority: alarms[0]?.priority ?? null, alarms, readings };
  if (record.status?.state === 'offline') return { ...common, state: 'offline', lastHeardMs: offlineSinceMs() };
  if (!isThere) return { ...common, state: 'silent', lastHeardMs };
  const state = alarms.length > 0 ? 'alarm' : (hubStates.find((each) => has(each as ValueState)) ?? 'calm');
  return { ...common, state, lastHeardMs: null };

  /** A last will has no time of its own: it is dated by when it came, or by the last heartbeat before it. */
  function offlineSinceMs(): number | null {
    const { status } = record;
    if (status === undefined || status.since !== null) return status?.since ?? null;
    return status.isLive ? nowMs - (monotonicMs - status.atMonotonicMs) : lastHeardMs;
  }
}

function rankOf({ priority, state }: HubAlarm): number {
  return urgency[priority] * 2 + (state === 'acknowledged' ? 1 : 0);
}

/** One that was heard live is as old as its way here, whatever the clock over there says. */
function heartbeatAgeMs({ heartbeat }: HubRecord, nowMs: number, monotonicMs: number): number | undefined {
  if (heartbeat === undefined) return undefined;
  const heardMs = monotonicMs - heartbeat.atMonotonicMs;
  return heartbeat.isLive ? heardMs : Math.max(heardMs, nowMs - heartbeat.timeMs);
}
