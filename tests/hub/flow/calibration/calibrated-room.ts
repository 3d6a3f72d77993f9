import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createHistoryCalibrator } from '#hub/flow/calibration/apply-to-history.ts';
import { createCalibrations } from '#hub/flow/calibration/calibrations.ts';
import { bindProbes } from '#hub/flow/pipeline/bound-probe.ts';
import { createCarbonateStage } from '#hub/flow/pipeline/derive-carbonate.ts';
import { createPipeline } from '#hub/flow/pipeline/pipeline.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import { type CalibrationEntry, calibrationEntrySchema } from '#hub/model/entries/calibration-entry.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { Metric } from '#rules/quantity/metric.ts';

export const startMs = Date.UTC(2026, 0, 5, 8);
export const minuteMs = 60_000;
export const hourMs = 3_600_000;
export const iso = (timeMs: number) => new Date(timeMs).toISOString();

type Probe = { id: string; metric: Metric } & Record<string, unknown>;

export type RoomOptions = { probes: readonly Probe[]; path?: string; over?: (store: Store) => Partial<Store> };

export function scratchPath(): string {
  const folder = mkdtempSync(join(tmpdir(), 'brinekeep-calibration-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return join(folder, 'store.db');
}

/**
 * The real store, pipeline and calibrations with a clock of the test: an invented tank whose probes send on `sump`, each on
 * the channel of its id.
 */
export function calibratedRoom({ probes, path = scratchPath(), over = () => ({}) }: RoomOptions) {
  const config = configSchema.parse({
    site: { name: 'Invented room' },
    systems: [{ id: 'display', name: 'Display', volume_l: 400, bands: {} }],
    serial: [{ id: 'sump', path: '/dev/null', format: 'key_value' }],
    probes: probes.map((probe) => ({ system: 'display', serial: { port: 'sump', channel: probe.id }, ...probe })),
  });
  let nowMs = startMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const real = openStore({ path, flushMs: 3_600_000, clock });
  const store: Store = { ...real, ...over(real) };
  const told: Evidence[] = [];
  const bindings = bindProbes(config);
  const calibrations = createCalibrations({
    ...{ config, store, probes: bindings.probes },
    told: (evidence) => told.push(evidence),
  });
  calibrations.refresh();
  const history = createHistoryCalibrator({ store, calibrations, probes: bindings.probes });
  const ends = {
    keep: (readings: Parameters<Store['add']>[0]) => store.add(readings),
    watch: () => {},
    show: () => {},
  };
  const pipeline = createPipeline(
    bindings,
    createCarbonateStage(config, () => undefined),
    ends,
  );
  let isOpen = true;
  const close = () => {
    if (isOpen) real.close();
    isOpen = false;
  };
  onTestFinished(close);
  const series = (probe: string, metric?: Metric) => ({
    ...{ system: 'display', probe },
    metric: metric ?? bindings.probes.find(({ id }) => id === probe)?.series.metric ?? 'temperature',
  });

  return {
    ...{ path, store, told, calibrations, history, pipeline, bindings, close },
    at: (timeMs: number) => (nowMs = timeMs),
    /** What a probe sends, at a time that becomes now. */
    send(probe: string, value: number, timeMs: number): void {
      nowMs = Math.max(nowMs, timeMs);
      pipeline.accept([{ source: 'serial:sump', channel: probe, value, receivedMs: nowMs, statedMs: timeMs }], nowMs);
    },
    enter: (entry: Record<string, unknown>, isDryRun = false) =>
      calibrations.enter(parsed({ by: 'Ana', why: 'a routine', ...entry }), nowMs, isDryRun),
    apply: (id: number | undefined, fromMs: number, toMs: number) =>
      history.apply(id ?? -1, { fromMs, toMs }, 'Ana', nowMs),
    readings: (probe: string, metric?: Metric) => store.readings(series(probe, metric), 0, Number.MAX_SAFE_INTEGER),
    values: (probe: string, metric?: Metric) =>
      store.readings(series(probe, metric), 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value),
    series,
  };
}

function parsed(entry: Record<string, unknown>): CalibrationEntry {
  return calibrationEntrySchema.parse(entry);
}
