import type { Observation } from '#adapters/ports/observation.ts';
import type { Reading } from '#rules/quality/reading.ts';
import type { Bindings, BoundProbe } from './bound-probe.ts';
import { calibrated } from './calibrate.ts';
import { withQuality } from './check-quality.ts';
import { type Dating, timeOf } from './date-reading.ts';
import { derivedReadings } from './derive.ts';
import type { CarbonateStage } from './derive-carbonate.ts';
import { inStoreUnit } from './to-store-unit.ts';
import type { WrongClocks } from './wrong-clocks.ts';

/** Why an observation ended before it became a reading; each has a counter on the health page. */
export type DropReason = 'unknown_channel' | 'no_usable_time' | 'wrong_unit' | 'not_finite';

/** Where finished readings go, in this order: kept first, so that what an alarm speaks of is in the store. */
export type PipelineEnds = {
  /** Where the clock may be unset or step. */
  dating?: Dating;
  /** Hears of each reading whether its time can be. */
  clocks?: Pick<WrongClocks, 'ahead' | 'right'>;
  keep(readings: readonly Reading[]): void;
  watch(readings: readonly Reading[], nowMs: number): void;
  show(readings: readonly Reading[]): void;
};

export type Pipeline = {
  /** Runs the observations through all stages, in order, before it returns. */
  accept(observations: readonly Observation[], nowMs: number): void;
  counts: { accepted: number } & Record<DropReason, number>;
};

/**
 * The path of one reading, one way:
 * which probe -> time -> unit -> calibration -> quality flag -> derived values -> store -> rules -> live page.
 */
export function createPipeline(bindings: Bindings, carbonate: CarbonateStage, ends: PipelineEnds): Pipeline {
  const counts = { accepted: 0, unknown_channel: 0, no_usable_time: 0, wrong_unit: 0, not_finite: 0 };

  function passStages(probe: BoundProbe, observation: Observation, finished: Reading[]): DropReason | undefined {
    const timeMs = timeOf(observation, probe.series, ends.dating);
    if (timeMs === undefined) {
      const { statedMs, receivedMs } = observation;
      if (statedMs !== undefined) ends.clocks?.ahead(probe.id, statedMs - receivedMs);
      return 'no_usable_time';
    }
    // What the broker kept was dated long ago, and says nothing of the clock now.
    if (observation.isRetained !== true) ends.clocks?.right(probe.id);
    const inUnit = inStoreUnit(probe, observation.value, observation.unit);
    if (inUnit === undefined) return 'wrong_unit';
    const value = calibrated(probe, inUnit, timeMs);
    if (!Number.isFinite(value)) return 'not_finite';
    const reading = withQuality(probe, value, timeMs);
    const first = finished.length;
    finished.push(reading);
    if (probe.derivation !== undefined) finished.push(...derivedReadings(probe, reading));
    const last = finished.length;
    for (let at = first; at < last; at += 1) {
      const derived = carbonate.readingsFrom(finished[at]!);
      if (derived.length > 0) finished.push(...derived);
    }
    return undefined;
  }

  return {
    counts,
    accept(observations, nowMs) {
      const live: Reading[] = [];
      const replayed: Reading[] = [];
      for (const observation of observations) {
        const probes = bindings.byChannel.get(observation.source)?.get(observation.channel);
        if (probes === undefined) {
          counts.unknown_channel += 1;
          continue;
        }
        for (const probe of probes) {
          const reason = passStages(probe, observation, observation.isRetained === true ? replayed : live);
          if (reason === undefined) counts.accepted += 1;
          else counts[reason] += 1;
        }
      }
      if (live.length + replayed.length === 0) return;
      const all = replayed.length === 0 ? live : [...replayed, ...live];
      ends.keep(all);
      // A retained message tells what was, not that the probe lives: it is kept and shown, and never reaches the rules.
      ends.watch(live, nowMs);
      ends.show(all);
    },
  };
}
