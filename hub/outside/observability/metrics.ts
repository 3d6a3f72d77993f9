import { type IntervalHistogram, monitorEventLoopDelay } from 'node:perf_hooks';
import type { EdgeState } from '#adapters/ports/edge.ts';
import type { ClockState } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { BackupState } from '../backups/backups.ts';
import { type Family, openMetricsText, openMetricsType, type Sample } from './open-metrics.ts';
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
  text(): string;
  stop(): void;
};

/**
 * How often the event loop is looked at. Each look wakes the processor: at Node's own 10 ms that is more work than ten
 * readings a second. A delay shorter than this is met by chance, a longer one always.
 */
const loopLookMs = 250;

/** The figures of the hub for a monitoring system that comes to ask. */
export function createMetrics(sources: MetricSources): Metrics {
  const loop = monitorEventLoopDelay({ resolution: loopLookMs });
  loop.enable();

  const families: Family[] = [];
  const gauge = (name: string, help: string, samples: Family['samples']) =>
    families.push({ name: `brinekeep_${name}`, type: 'gauge', help, samples });
  const counter = (name: string, help: string, samples: Family['samples']) =>
    families.push({ name: `brinekeep_${name}`, type: 'counter', help, samples });

  const { store } = sources;
  gauge('info', 'Version of the hub.', () => [{ value: 1, labels: { version: sources.version } }]);
  gauge('start_time_seconds', 'When the hub started.', () => [{ value: sources.startedMs / 1000 }]);
  counter('observations', 'Numbers that came in, by source.', () => counted('source', sources.traffic.bySource()));
  counter('readings', 'Readings that were taken in.', () => [{ value: sources.accepted() }]);
  counter('dropped', 'What came in and did not become a reading, by cause.', () =>
    counted('cause', Object.entries(sources.dropped())),
  );
  families.push({
    name: 'brinekeep_judging_seconds',
    type: 'histogram',
    help: 'Time from the arrival of a batch of numbers until it is stored and judged.',
    samples: () => sources.traffic.judging.samples(),
  });
  gauge('outbox_waiting', 'Items on disk that wait for their receiver.', () => outbox('waiting'));
  gauge('outbox_parked', 'Items that can never be delivered.', () => outbox('parked'));
  counter('outbox_dropped', 'Items dropped because too many waited.', () => outbox('dropped'));
  gauge('outbox_oldest_age_seconds', 'Age of the oldest waiting item; 0 for none.', () => outbox('age'));
  gauge('store_bytes', 'Size of the store with its log.', () => [{ value: sources.storeBytes() }]);
  gauge('disk_free_bytes', 'Free space where the store lies.', () => some(sources.freeBytes()));
  gauge('edge_up', 'Whether a connection works.', () =>
    sources.edges().map(({ name, isUp }) => ({ value: isUp ? 1 : 0, labels: { edge: name } })),
  );
  gauge('edge_last_success_timestamp_seconds', 'When a connection last worked.', () =>
    sources.edges().flatMap(({ name, lastSuccessMs }) => some(lastSuccessMs && lastSuccessMs / 1000, { edge: name })),
  );
  gauge('alarms', 'Alarms by priority and state.', () => alarms(sources.standing()));
  gauge('clock_trusted', 'Whether the time is known.', () => [{ value: sources.clock().isTrusted ? 1 : 0 }]);
  counter('clock_steps', 'Steps of the clock.', () => {
    const { stepsForward, stepsBack } = sources.clock();
    return [
      { value: stepsForward, labels: { direction: 'forward' } },
      { value: stepsBack, labels: { direction: 'back' } },
    ];
  });
  gauge('readings_undated', 'Readings in memory that wait for the clock.', () => [{ value: sources.undated().held }]);
  counter('readings_undated_dropped', 'Readings lost because the clock was not set for long.', () => [
    { value: sources.undated().dropped },
  ]);
  gauge('backup_last_success_timestamp_seconds', 'When the last sound backup was made.', () =>
    some(sources.backups().lastGoodMs && (sources.backups().lastGoodMs ?? 0) / 1000),
  );
  gauge('backup_failed', 'Whether the last backup failed.', () => [
    { value: sources.backups().error === undefined ? 0 : 1 },
  ]);
  gauge('open_pages', 'Pages that are open and live.', () => [{ value: sources.openPages() }]);
  counter('faults', 'Faults of the hub itself, by stage.', () => counted('stage', Object.entries(sources.faults())));
  gauge('event_loop_delay_seconds', 'Delay of the event loop since the last look.', () => loopDelay(loop));
  gauge('memory_bytes', 'Memory of the process.', () => {
    const { rss, heapUsed, heapTotal, external } = process.memoryUsage();
    return Object.entries({ rss, heap_used: heapUsed, heap_total: heapTotal, external }).map(([kind, value]) => ({
      value,
      labels: { kind },
    }));
  });
  counter('cpu_seconds', 'Processor time of the process.', () => {
    const { user, system } = process.cpuUsage();
    return [{ value: (user + system) / 1e6 }];
  });
  gauge('reading', 'The last good value of each series, in its unit.', () => latest((kept) => kept.value));
  gauge('reading_timestamp_seconds', 'The time of that value.', () => latest((kept) => kept.timeMs / 1000));

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
    contentType: openMetricsType,
    text: () => openMetricsText(families),
    stop: () => void loop.disable(),
  };
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

/** In seconds; the histogram of the runtime counts nanoseconds. It begins again, so that an old stall does not stay for good. */
function loopDelay(loop: IntervalHistogram): Sample[] {
  const figures = { p50: loop.percentile(50), p99: loop.percentile(99), max: loop.max };
  loop.reset();
  // What is recorded is the time between two looks.
  return Object.entries(figures).map(([figure, ns]) => ({
    value: Number.isFinite(ns) && ns < 9e15 ? Math.max(0, ns / 1e9 - loopLookMs / 1000) : 0,
    labels: { figure },
  }));
}
