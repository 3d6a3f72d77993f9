import { type IntervalHistogram, monitorEventLoopDelay } from 'node:perf_hooks';
import { Counter, Gauge, type OpenMetricsContentType, type Metric as PromMetric, Registry } from 'prom-client';
import type { EdgeState } from '#adapters/ports/edge.ts';
import type { ClockState } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { BackupState } from '../backups/backups.ts';
import type { Traffic } from './traffic.ts';

/** What the figures are read from when somebody asks; nothing is gathered in between. */
export type MetricSources = {
  nowMs(): number;
  startedMs: number;
  version: string;
  store: Pick<Store, 'series' | 'latest' | 'outboxDepth'>;
  /** Names in the outbox. */
  destinations: readonly string[];
  traffic: Traffic;
  /** By cause. */
  dropped(): Record<string, number>;
  accepted(): number;
  edges(): readonly EdgeState[];
  standing(): readonly StandingAlarm[];
  clock(): ClockState;
  undated(): { held: number; dropped: number };
  backups(): BackupState;
  storeBytes(): number;
  freeBytes(): number | undefined;
  openPages(): number;
  faults(): Record<string, number>;
};

export type Metrics = {
  contentType: string;
  /** OpenMetrics text 1.0. */
  text(): Promise<string>;
  stop(): void;
};

type Sample = { value: number; labels?: Record<string, string> };

/**
 * How often the event loop is looked at. Each look wakes the processor: at Node's own 10 ms that is more work than ten
 * readings a second. A delay shorter than this is met by chance, a longer one always.
 */
const loopLookMs = 250;

/** The figures of the hub for a monitoring system that comes to ask. */
export function createMetrics(sources: MetricSources): Metrics {
  const registry = new Registry<OpenMetricsContentType>();
  registry.setContentType(Registry.OPENMETRICS_CONTENT_TYPE);
  const loop = monitorEventLoopDelay({ resolution: loopLookMs });
  loop.enable();

  function gauge(name: string, help: string, labelNames: string[], samples: () => Iterable<Sample>): void {
    const metric: Gauge = new Gauge({
      ...{ name: `brinekeep_${name}`, help, labelNames, registers: [] },
      collect: () => refill(metric, samples, (labels, value) => metric.set(labels, value)),
    });
    register(metric);
  }
  /** @param name  without the suffix `_total`, which the format adds */
  function counter(name: string, help: string, labelNames: string[], samples: () => Iterable<Sample>): void {
    const metric: Counter = new Counter({
      ...{ name: `brinekeep_${name}_total`, help, labelNames, registers: [] },
      collect: () => refill(metric, samples, (labels, value) => metric.inc(labels, value)),
    });
    register(metric);
  }
  function register(metric: PromMetric): void {
    // The package types a registry by its format, and its metrics without one.
    (registry as unknown as Registry).registerMetric(metric);
  }

  const { store } = sources;
  gauge('info', 'Version of the hub.', ['version'], () => [{ value: 1, labels: { version: sources.version } }]);
  gauge('start_time_seconds', 'When the hub started.', [], () => [{ value: sources.startedMs / 1000 }]);
  counter('observations', 'Numbers that came in, by source.', ['source'], () =>
    counted('source', sources.traffic.bySource()),
  );
  counter('readings', 'Readings that were taken in.', [], () => [{ value: sources.accepted() }]);
  counter('dropped', 'What came in and did not become a reading, by cause.', ['cause'], () =>
    counted('cause', Object.entries(sources.dropped())),
  );
  register(sources.traffic.judging);
  gauge('outbox_waiting', 'Items on disk that wait for their receiver.', ['destination'], () => outbox('waiting'));
  gauge('outbox_parked', 'Items that can never be delivered.', ['destination'], () => outbox('parked'));
  counter('outbox_dropped', 'Items dropped because too many waited.', ['destination'], () => outbox('dropped'));
  gauge('outbox_oldest_age_seconds', 'Age of the oldest waiting item; 0 for none.', ['destination'], () =>
    outbox('age'),
  );
  gauge('store_bytes', 'Size of the store with its log.', [], () => [{ value: sources.storeBytes() }]);
  gauge('disk_free_bytes', 'Free space where the store lies.', [], () => some(sources.freeBytes()));
  gauge('edge_up', 'Whether a connection works.', ['edge'], () =>
    sources.edges().map(({ name, isUp }) => ({ value: isUp ? 1 : 0, labels: { edge: name } })),
  );
  gauge('edge_last_success_timestamp_seconds', 'When a connection last worked.', ['edge'], () =>
    sources.edges().flatMap(({ name, lastSuccessMs }) => some(lastSuccessMs && lastSuccessMs / 1000, { edge: name })),
  );
  gauge('alarms', 'Alarms by priority and state.', ['priority', 'state'], () => alarms(sources.standing()));
  gauge('clock_trusted', 'Whether the time is known.', [], () => [{ value: sources.clock().isTrusted ? 1 : 0 }]);
  counter('clock_steps', 'Steps of the clock.', ['direction'], () => {
    const { stepsForward, stepsBack } = sources.clock();
    return [
      { value: stepsForward, labels: { direction: 'forward' } },
      { value: stepsBack, labels: { direction: 'back' } },
    ];
  });
  gauge('readings_undated', 'Readings in memory that wait for the clock.', [], () => [
    { value: sources.undated().held },
  ]);
  counter('readings_undated_dropped', 'Readings lost because the clock was not set for long.', [], () => [
    { value: sources.undated().dropped },
  ]);
  gauge('backup_last_success_timestamp_seconds', 'When the last sound backup was made.', [], () =>
    some(sources.backups().lastGoodMs && (sources.backups().lastGoodMs ?? 0) / 1000),
  );
  gauge('backup_failed', 'Whether the last backup failed.', [], () => [
    { value: sources.backups().error === undefined ? 0 : 1 },
  ]);
  gauge('open_pages', 'Pages that are open and live.', [], () => [{ value: sources.openPages() }]);
  counter('faults', 'Faults of the hub itself, by stage.', ['stage'], () =>
    counted('stage', Object.entries(sources.faults())),
  );
  gauge('event_loop_delay_seconds', 'Delay of the event loop since the last look.', ['figure'], () => loopDelay(loop));
  gauge('memory_bytes', 'Memory of the process.', ['kind'], () => {
    const { rss, heapUsed, heapTotal, external } = process.memoryUsage();
    return Object.entries({ rss, heap_used: heapUsed, heap_total: heapTotal, external }).map(([kind, value]) => ({
      ...{ value, labels: { kind } },
    }));
  });
  counter('cpu_seconds', 'Processor time of the process.', [], () => {
    const { user, system } = process.cpuUsage();
    return [{ value: (user + system) / 1e6 }];
  });
  gauge('reading', 'The last good value of each series, in its unit.', seriesLabels, () =>
    latest((kept) => kept.value),
  );
  gauge('reading_timestamp_seconds', 'The time of that value.', seriesLabels, () =>
    latest((kept) => kept.timeMs / 1000),
  );

  function outbox(figure: 'waiting' | 'parked' | 'dropped' | 'age'): Sample[] {
    return sources.destinations.map((destination) => {
      const depth = store.outboxDepth(destination);
      const age = depth.oldestMs === undefined ? 0 : Math.max(0, sources.nowMs() - depth.oldestMs) / 1000;
      return { value: figure === 'age' ? age : depth[figure], labels: { destination } };
    });
  }

  function* latest(figureOf: (kept: { timeMs: number; value: number }) => number): Iterable<Sample> {
    for (const series of store.series()) {
      const kept = store.latest(series);
      // A failed reading keeps its number as evidence, and it is no value of the water.
      if (kept === undefined || kept.flag === 'fail' || kept.flag === 'missing') continue;
      const { metric, system, probe } = series;
      yield { value: figureOf(kept), labels: { metric, system, probe, unit: metricFacts[metric].unit } };
    }
  }

  return {
    contentType: registry.contentType,
    text: () => registry.metrics(),
    stop: () => void loop.disable(),
  };
}

const seriesLabels = ['metric', 'system', 'probe', 'unit'];

function refill(
  metric: Pick<Gauge, 'reset' | 'remove'> | Counter,
  samples: () => Iterable<Sample>,
  put: (labels: Record<string, string>, value: number) => void,
): void {
  metric.reset();
  for (const { value, labels = {} } of samples()) put(labels, value);
}

function counted(label: string, counts: Iterable<readonly [string, number]>): Sample[] {
  return [...counts].map(([name, value]) => ({ value, labels: { [label]: name } }));
}

function some(value: number | undefined, labels: Record<string, string> = {}): Sample[] {
  return value === undefined ? [] : [{ value, labels }];
}

function alarms(standing: readonly StandingAlarm[]): Sample[] {
  const counts = new Map<string, Sample>();
  for (const { priority, state } of standing) {
    const key = `${priority} ${state}`;
    const sample = counts.get(key) ?? { value: 0, labels: { priority, state } };
    sample.value += 1;
    counts.set(key, sample);
  }
  return [...counts.values()];
}

/** In seconds; the histogram of the runtime counts nanoseconds. It begins anew, so that an old stall does not stay for good. */
function loopDelay(loop: IntervalHistogram): Sample[] {
  const figures = { p50: loop.percentile(50), p99: loop.percentile(99), max: loop.max };
  loop.reset();
  // What is recorded is the time between two looks.
  return Object.entries(figures).map(([figure, ns]) => ({
    ...{ value: Number.isFinite(ns) && ns < 9e15 ? Math.max(0, ns / 1e9 - loopLookMs / 1000) : 0, labels: { figure } },
  }));
}
