import { createRejectCounts, type RejectCounts } from '../flow/pipeline/counters.ts';
import { createCarbonateStage } from '../flow/pipeline/derive-carbonate.ts';
import { createLastReasons, type LastReasons } from '../flow/pipeline/last-reasons.ts';
import { createPipeline, type Pipeline } from '../flow/pipeline/pipeline.ts';
import { type WrongClocks, watchClocks } from '../flow/pipeline/wrong-clocks.ts';
import type { Entering } from './entering.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { RoomRecord } from './record.ts';

export type Readings = {
  pipeline: Pipeline;
  rejects: RejectCounts;
  reasons: LastReasons;
  clocks: WrongClocks;
};

/** The way of a reading: through the pipeline to the store, to the rules, and to whoever looks. */
export function createReadings(room: Ground & { record: RoomRecord; judges: Judges; entering: Entering }): Readings {
  const { config, log, live, record, entering } = room;
  const { watch } = room.judges;
  const { bindings, estimator, outward } = entering;
  const rejects = createRejectCounts((source, reason, found, count) =>
    log.warn({ source, reason, found, count }, 'not a reading'),
  );
  const reasons = createLastReasons();
  const clocks = watchClocks((probe, aheadMs) => {
    if (aheadMs === undefined) log.info({ probe }, "the probe's clock is right again");
    else log.warn({ probe, aheadMs }, "the probe's clock is ahead of the hub's: its readings are dropped");
  });
  const pipeline = createPipeline(bindings, createCarbonateStage(config, estimator.testedWater), {
    dating: record.dating,
    clocks,
    keep: (readings) => record.store.add(readings),
    watch: (readings, nowMs) => {
      for (const reading of readings) watch.offer({ is: 'reading', reading }, nowMs);
    },
    show: (readings) => {
      reasons.remember(readings);
      outward.take(readings);
      live.show(readings);
    },
  });
  return { pipeline, rejects, reasons, clocks };
}
