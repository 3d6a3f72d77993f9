import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import { checkReading, defaultChecks, emptyStreamState } from '#rules/quality/stream-check.ts';
import type { Metric } from '#rules/quantity/metric.ts';

/**
 * An invented fish room: one system, one reading a minute, day cycles, weather, noise, coarse displays, lost lines and
 * electrical spikes, and one fault. The same seed gives the same room. Readings pass the quality checks and then the rules,
 * as they do in the hub.
 */
const minuteMs = 60_000;
const minutesOfDay = 1440;
/** Not at midnight: no rule may depend on where the record starts. */
const startMs = Date.UTC(2024, 2, 4, 9, 17);

export type Streams = Partial<Record<Metric, number>>;

/** Changes what the probes say, from the start of the fault on. `undefined` for a metric: it says nothing. */
export type Fault = (sound: Streams, minutes: number, chance: () => number, memory: Streams) => Streams;

export type Room = {
  seed: number;
  days: number;
  bands: Bands;
  faultDay?: number;
  faultHours?: number;
  fault?: Fault;
  /** Share of readings hit by an electrical spike. */
  spikes?: number;
  /** Smallest step of each display. */
  steps?: Streams;
  /** Minutes between two readings; 1 when absent. */
  everyMinutes?: number;
};

export const plainBands: Bands = {
  temperature: { low: 25, high: 26.5, mostPerHour: 0.5, mostPerDay: 1 },
  ph: { low: 7.85, high: 8.45 },
  salinity: { low: 34, high: 36, mostPerDay: 0.5 },
};

export const fineSteps: Streams = { temperature: 0.01, ph: 0.01, salinity: 0.01 };
export const coarseSteps: Streams = { temperature: 0.1, ph: 0.02, salinity: 0.1 };

export function chanceFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

function normalFrom(chance: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
}

/** A wander that returns to 0: sd in the metric's unit, over so many hours. */
function wander(chance: () => number, sd: number, hours: number): () => number {
  const keep = Math.exp(-1 / (hours * 60));
  const push = sd * Math.sqrt(1 - keep * keep);
  let now = sd * normalFrom(chance);
  return () => {
    now = keep * now + push * normalFrom(chance);
    return now;
  };
}

/** Runs the room and gives its alarm events, with the time of the first step and of the fault. */
export function runRoom(room: Room): { events: AlarmEvent[]; startMs: number; faultMs: number } {
  const chance = chanceFrom(room.seed);
  const weather = wander(chance, 0.08, 40);
  const heater = wander(chance, 0.05, 0.4);
  const breath = wander(chance, 0.02, 5);
  const people = wander(chance, 0.02, 30);
  const evaporation = wander(chance, 0.05, 20);
  const rules = rulesForRoom({
    systems: [{ id: 'tank', name: 'Tank', volumeL: 400, bands: room.bands, probes: [] }],
    overrides: [],
  });
  let state = emptyRoomState();
  const events: AlarmEvent[] = [];
  const checks = new Map<Metric, ReturnType<typeof emptyStreamState>>();
  const memory: Streams = {};
  const faultMinute = Math.round((room.faultDay ?? 0) * minutesOfDay);
  const endMinute = faultMinute + (room.faultHours ?? Number.POSITIVE_INFINITY) * 60;
  const steps = room.steps ?? fineSteps;
  const burst: Streams = {};
  const photoperiodShift = chance() * minutesOfDay;
  let light = 0;
  for (let minute = 0; minute < room.days * minutesOfDay; minute += 1) {
    const nowMs = startMs + minute * minuteMs;
    const ofDay = (minute + photoperiodShift) % minutesOfDay;
    // Lamps for eleven hours, and a water body that follows them slowly.
    light += ((ofDay < 660 ? 1 : 0) - light) / 150;
    const sound: Streams = {
      temperature: 25.75 + 0.3 * (light - 0.5) + weather() + heater() + 0.015 * normalFrom(chance),
      ph: 8.12 + 0.22 * (light - 0.5) + breath() + people() + 0.006 * normalFrom(chance),
      salinity: 35 + evaporation() + 0.015 * normalFrom(chance),
    };
    const isFaulty = room.fault !== undefined && minute >= faultMinute && minute < endMinute;
    const said = isFaulty ? room.fault!(sound, minute - faultMinute, chance, memory) : sound;
    for (const [metric, value] of Object.entries(said) as [Metric, number | undefined][]) {
      const step = steps[metric] ?? 0.01;
      let shown = value === undefined ? undefined : Math.round(value / step) * step;
      if (shown !== undefined && (chance() < (room.spikes ?? 0) || (burst[metric] ?? 0) > 0)) {
        burst[metric] = (burst[metric] ?? 0) > 0 ? 0 : chance() < 0.25 ? 1 : 0;
        shown += spikeOf(metric, chance);
      }
      // One line in two hundred is lost.
      if (shown === undefined || chance() < 0.005 || minute % (room.everyMinutes ?? 1) !== 0) continue;
      const checkState = checks.get(metric) ?? emptyStreamState();
      checks.set(metric, checkState);
      const quality = checkReading(defaultChecks(metric), checkState, shown, nowMs);
      const reading = { series: { system: 'tank', metric, probe: metric }, timeMs: nowMs, quality };
      const result = stepRoom(rules, state, { is: 'reading', reading }, nowMs);
      state = result.state;
      for (const event of result.events) events.push(event);
    }
    const result = stepRoom(rules, state, { is: 'time' }, nowMs + 30_000);
    state = result.state;
    for (const event of result.events) events.push(event);
  }
  return { events, startMs, faultMs: startMs + faultMinute * minuteMs };
}

function spikeOf(metric: Metric, chance: () => number): number {
  const size = { temperature: 12, ph: 3, salinity: 10 }[metric as 'ph'] ?? 1;
  return (chance() < 0.5 ? -1 : 1) * size * (0.05 + chance());
}

const stuckAt =
  (metric: Metric): Fault =>
  (sound, _minutes, _chance, memory) => {
    memory[metric] ??= sound[metric] ?? 0;
    return { ...sound, [metric]: memory[metric] };
  };

const moved = (metric: Metric, by: (minutes: number, chance: () => number) => number): Fault => {
  return (sound, minutes, chance) => ({ ...sound, [metric]: (sound[metric] ?? 0) + by(minutes, chance) });
};

/** Size and pace of each are invented, of the order that such faults have in a tank of some hundred litres. */
export const faults: Record<string, Fault> = {
  'heater stuck on': moved('temperature', (minutes) => Math.min(6, (1.5 * minutes) / 60)),
  'heater dead': moved('temperature', (minutes) => -5.5 * (1 - Math.exp(-minutes / (12 * 60)))),
  'top-off stopped': moved('salinity', (minutes) => (0.35 * minutes) / minutesOfDay),
  'top-off stuck open': moved('salinity', (minutes) => -Math.min(1.8, (0.6 * minutes) / 60)),
  'ph probe unplugged': (sound, _minutes, chance) => ({ ...sound, ph: 7 + 0.05 * normalFrom(chance) }),
  'ph input open': (sound, _minutes, chance) => ({ ...sound, ph: 14 + 0.05 * normalFrom(chance) }),
  'ph probe frozen': stuckAt('ph'),
  'temperature probe frozen': stuckAt('temperature'),
  'temperature probe silent': (sound) => ({ ph: sound.ph!, salinity: sound.salinity! }),
  'room CO2 up': moved('ph', (minutes) => -0.2 * (1 - Math.exp(-minutes / 90))),
  'alkalinity overdose': moved('ph', (minutes) => 0.4 * Math.min(1, minutes / 20) * Math.exp(-minutes / 600)),
  'bubble on the cell': (sound, minutes, chance) => ({
    ...sound,
    salinity: (sound.salinity ?? 0) * (minutes % 60 < 45 ? 0.88 + 0.02 * chance() : 1),
  }),
  'bubble comes and goes': (sound, _minutes, chance) => ({
    ...sound,
    salinity: (sound.salinity ?? 0) * (chance() < 0.6 ? 0.8 + 0.15 * chance() : 1),
  }),
};

/** A value that crosses the upper edge for ever, with this period and amplitude. */
export function oscillation(metric: Metric, edge: number, amplitude: number, periodMinutes: number): Fault {
  return (sound, minutes, chance) => ({
    ...sound,
    [metric]: edge + amplitude * Math.sin((2 * Math.PI * minutes) / periodMinutes) + 0.01 * normalFrom(chance),
  });
}
