import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { Config } from '../model/config/schema.ts';
import { createAnswering } from './answering.ts';
import { createEdges } from './edges.ts';
import { createEntering } from './entering.ts';
import { layGround } from './ground.ts';
import type { Hub, HubOptions } from './hub-options.ts';
import { createJudges } from './judges.ts';
import { createPage } from './page.ts';
import { createReadings } from './readings.ts';
import { openRecord } from './record.ts';
import { createRoutine } from './routine.ts';
import { startParts } from './run-parts.ts';
import { createUpkeep } from './upkeep.ts';
import { createWeeks } from './weeks.ts';

export type { Hub };

/**
 * The tour of the house. Each part is made of those before it. What runs starts from top to bottom and stops from bottom to top:
 * the record first, since everything else writes to it; the page next, since it must answer even when a broker is away; the probes
 * when there is somewhere for a reading to go.
 */
export async function startHub(config: Config, adapters: HubAdapters, options: HubOptions): Promise<Hub> {
  const ground = layGround(config, adapters, options);
  const { log } = ground;
  const record = openRecord(ground);
  const judges = createJudges({ ...ground, record });
  const entering = createEntering({ ...ground, record, judges });
  const readings = createReadings({ ...ground, record, judges, entering });
  const upkeep = createUpkeep({ ...ground, record, judges, entering, readings });
  const answering = createAnswering({ ...ground, record, judges, entering });
  const room = { ...ground, record, judges, entering, readings, upkeep, answering };
  const page = await createPage(room);
  const edges = createEdges(room);

  // Together they may take less than the 30 s after which the service manager kills the process.
  const stop = await startParts(log, [
    { name: 'record', stop: record.close },
    { name: 'readings to the broker', stop: entering.outward.stop },
    { name: 'page', start: page.listen, stop: page.close, stopWithinMs: 4_000 },
    { name: 'beforehand', start: () => options.beforeProbes?.(record.store) },
    { name: 'memory of the rules', stop: upkeep.keepAll },
    { name: 'edges', start: edges.start, stop: edges.stop, stopWithinMs: 9_000 },
    { name: 'notices', start: judges.deliveries.nudge, stop: judges.deliveries.stop, stopWithinMs: 1_000 },
    { name: 'backups', stop: upkeep.observer.stop, stopWithinMs: 4_000 },
    createRoutine(room),
    { name: 'calibration of the past', start: entering.calibratePast },
    createWeeks(room),
    { name: 'service', start: adapters.serviceManager.ready, stop: adapters.serviceManager.stopping },
  ]);
  const url = page.url();
  const brokerPort = edges.brokerPort();
  log.info({ url, brokerPort, systems: config.systems.length, probes: config.probes.length }, 'the hub is running');
  return {
    url,
    refused: page.refused,
    brokerPort,
    entries: entering.entries,
    store: record.store,
    async stop() {
      await stop();
      log.info('the hub has stopped');
    },
  };
}
