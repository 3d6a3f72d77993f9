import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { checkReading, defaultChecks, emptyStreamState } from '#rules/quality/stream-check.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { type BenchPart, type Measurement, rateOf, type Timing } from './measurement.ts';

const systems = 50;
const watched: readonly { metric: Metric; low: number; high: number; middle: number; swing: number }[] = [
  { metric: 'temperature', low: 25, high: 26.5, middle: 25.6, swing: 0.3 },
  { metric: 'ph', low: 7.85, high: 8.45, middle: 8.15, swing: 0.12 },
  { metric: 'salinity', low: 34, high: 36, middle: 35, swing: 0.1 },
  { metric: 'orp', low: 250, high: 420, middle: 330, swing: 20 },
];
const stepMs = 10_000;
const startMs = Date.UTC(2026, 0, 1);

/** Day cycle and a little ripple, without chance: the rules find nothing and still have to look. */
function valueAt(middle: number, swing: number, timeMs: number): number {
  const day = (timeMs / dayMs) * 2 * Math.PI;
  return middle + swing * Math.sin(day) + (swing / 20) * Math.sin(timeMs / 7919);
}

function room() {
  const rules = rulesForRoom({
    systems: Array.from({ length: systems }, (_, index) => ({
      id: `s${index}`,
      name: `System ${index}`,
      volumeL: 400,
      bands: Object.fromEntries(
        watched.map(({ metric, low, high }) => [metric, { low, high, mostPerHour: (high - low) / 2 }]),
      ),
      probes: [],
    })),
    overrides: [],
  });
  const streams = Array.from({ length: systems * watched.length }, (_, index) => {
    const kind = watched[index % watched.length]!;
    const system = `s${Math.floor(index / watched.length)}`;
    return {
      ...kind,
      series: { system, metric: kind.metric, probe: kind.metric },
      checks: defaultChecks(kind.metric),
      quality: emptyStreamState(),
    };
  });
  return { rules, streams };
}

/** One reading through the quality tests and all rules of 200 metrics, beside the loop that makes the readings. */
async function measureRules(clock: Timing, readings: number): Promise<Measurement[]> {
  let sum = 0;
  const bare = await rateOf(clock, readings, () => {
    const { streams } = room();
    for (let n = 0; n < readings; n += 1) {
      const stream = streams[n % streams.length]!;
      sum += valueAt(stream.middle, stream.swing, startMs + Math.floor(n / streams.length) * stepMs);
    }
  });
  let state = emptyRoomState();
  let raised = 0;
  const through = await rateOf(clock, readings, () => {
    const { rules, streams } = room();
    state = emptyRoomState();
    for (let n = 0; n < readings; n += 1) {
      const stream = streams[n % streams.length]!;
      const timeMs = startMs + Math.floor(n / streams.length) * stepMs;
      const quality = checkReading(stream.checks, stream.quality, valueAt(stream.middle, stream.swing, timeMs), timeMs);
      const result = stepRoom(
        rules,
        state,
        { is: 'reading', reading: { series: stream.series, timeMs, quality } },
        timeMs,
      );
      state = result.state;
      raised += result.events.length;
    }
  });
  return [
    {
      name: 'readings through quality tests and rules, 200 metrics',
      figure: through,
      unit: 'readings/s',
      ratio: through / bare,
      beside: 'the loop that makes the readings',
      remark: `${raised} events, sum ${Math.round(sum)}`,
    },
    { name: 'what the rules remember of 200 metrics, as JSON', figure: JSON.stringify(state).length / 1e6, unit: 'MB' },
  ];
}

export function rulesPart(clock: Timing): BenchPart {
  return { name: 'rules', measure: (isQuick) => measureRules(clock, isQuick ? 2000 : 400_000) };
}
