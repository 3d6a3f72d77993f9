import type { StandingAlarm } from '#rules/bands/standing-alarms.ts';
import type { ArrivalFacts, NowFacts, RunFacts } from '#rules/now/facts.ts';

export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
/** A noon; the day begins twelve hours before it. */
export const noonMs = Date.parse('2026-03-02T12:00:00Z');

export const calmRoom: NowFacts = {
  ...{ nowMs: noonMs, dayStartMs: noonMs - 12 * hourMs, dayEndsMs: noonMs + 12 * hourMs - 1 },
  tanks: [
    { id: 'display', name: 'Display' },
    { id: 'frags', name: 'Frag tank' },
  ],
  ...{
    alarms: [],
    arrivals: [],
    runs: [],
    pieces: [],
    tests: [],
    doses: [],
    holdBacks: [],
    batches: [],
    lots: [],
    outside: [],
  },
  ...{ unheardProbes: 0, probes: 4 },
};

export const room = (facts: Partial<NowFacts>): NowFacts => ({ ...calmRoom, ...facts });

export const alarm = (given: Partial<StandingAlarm> = {}): StandingAlarm => ({
  ...{ id: 'display/temperature/out_of_band/high', system: 'display', metric: 'temperature', rule: 'out_of_band' },
  ...{ priority: 'high', state: 'unacknowledged', isStanding: true, sinceMs: noonMs - hourMs, occurrence: 1 },
  ...{ message: 'Temperature is 28.0 °C, above its band.', isFrozen: false, isChattering: false, isStale: false },
  ...given,
});

export const soak = (given: Partial<RunFacts> = {}): RunFacts => ({
  ...{ run: 'a1-1', arrival: 'a1', arrivalName: 'Tuesday', system: 'display', step: 'soak', minutes: 7 },
  ...{ next: 'swirl_and_rinse_off', sinceMs: noonMs - minuteMs },
  clock: { startedMs: noonMs - minuteMs, endsMs: noonMs + 6 * minuteMs, maximumMs: noonMs + 9 * minuteMs },
  ...given,
});

export const arrival = (given: Partial<ArrivalFacts> = {}): ArrivalFacts => ({
  ...{ arrival: 'a1', name: 'Tuesday', system: 'display', state: 'arrived', isInBags: false },
  arrivedMs: noonMs - hourMs,
  ...given,
});
