import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { FastifyBaseLogger } from 'fastify';
import type { Edge, EdgeListener, MessageLink } from '#adapters/ports/edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import type { Store } from '#adapters/ports/store.ts';
import { substances } from '#rules/dosing/substances.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import { createReception } from '../arrivals/reception.ts';
import { absenceLine } from '../away/absence.ts';
import { createDeadMansSwitch } from '../away/dead-mans-switch.ts';
import { createPresence } from '../away/presence.ts';
import { createHistoryCalibrator } from '../calibration/apply-to-history.ts';
import { createCalibrations } from '../calibration/calibrations.ts';
import type { Config } from '../config/schema.ts';
import { createEntries, type Entries } from '../entries/enter.ts';
import { createEstimator } from '../estimate/estimator.ts';
import { startRounds } from '../estimate/rounds.ts';
import { createServer } from '../http/server.ts';
import { createLiveClients, liveValue } from '../live/live-clients.ts';
import { createDelivery, type Delivery, sendNow } from '../notices/deliver.ts';
import { queued } from '../notices/notice-items.ts';
import { phoneLine } from '../notices/phone-line.ts';
import { topicsBelow } from '../notices/topics.ts';
import { bindProbes } from '../pipeline/bound-probe.ts';
import { createCarbonateStage } from '../pipeline/derive-carbonate.ts';
import { createPipeline } from '../pipeline/pipeline.ts';
import { version } from '../version.ts';
import { weeklyFiles } from '../week/weekly-files.ts';
import { startWeekly } from '../week/weekly-schedule.ts';
import { createAlarmDesk } from './alarm-desk.ts';
import { createContainment } from './containment.ts';
import { createRejectCounts } from './counters.ts';
import { linkChoice, mirrorChoice, type Secrets, serialChoice, subscriptionsOf } from './edge-choices.ts';
import { healthOf } from './health.ts';
import { handleMessage } from './incoming-messages.ts';
import { createRoomWatch } from './room-watch.ts';

const tickMs = 5_000;
/** A soak is timed to the second. */
const arrivalTickMs = 1_000;
/** What rules and notices remember, the trace of being alive, the heartbeat. */
const minuteMs = 60_000;
const estimateEveryMs = 3_600_000;
/** Hourly, because what a day leaves behind would hold the process for half a second. */
const tidyEveryMs = 3_600_000;
const dayMs = 86_400_000;
/** Notices of months without a broker; the newest are kept. */
const outboxItems = 100_000;
const outboxBytes = 512 * 1024 * 1024;

export type HubOptions = {
  pageDir: string;
  log: FastifyBaseLogger;
  secrets: Secrets;
  /** The demo marks its room as invented. */
  isInvented: boolean;
  /** Called when the store works and before the first probe is listened to. */
  beforeProbes?: (store: Store) => void;
};

export type Hub = {
  url: string;
  /** Of the hub's own broker; undefined with an outside one. */
  brokerPort: number | undefined;
  entries: Entries;
  store: Store;
  stop(): Promise<void>;
};

/**
 * Puts the hub together from its configuration and the concrete adapters, and starts it. The order matters: the store
 * first, since everything else writes to it; the page next, since it must answer even when a broker is away; the probes
 * last, when there is somewhere for a reading to go.
 */
export async function startHub(config: Config, adapters: HubAdapters, options: HubOptions): Promise<Hub> {
  const { log } = options;
  const { clock } = adapters;
  const now = () => clock.nowMs();
  const startedMs = now();
  const topics = topicsBelow(config.mqtt.prefix);
  mkdirSync(config.data_dir, { recursive: true });

  const store = adapters.openStore({
    path: join(config.data_dir, 'brinekeep.db'),
    flushMs: config.flush_seconds * 1000,
    outboxLimit: { items: config.influx?.most_waiting_batches ?? outboxItems, bytes: outboxBytes },
    onFault: (fault) => {
      log.error(fault, 'the store has a fault');
      report('store', fault.kind.endsWith('recovered'), fault.detail);
    },
    ...(config.influx === undefined ? {} : { mirrorBatch: adapters.mirrorBatch }),
  });
  if (store.uncleanStop !== undefined) log.warn({ detail: store.uncleanStop }, 'the hub was not stopped properly');

  const live = createLiveClients(() => clock.monotonicMs());
  const rejects = createRejectCounts((source, reason, found, count) =>
    log.warn({ source, reason, found, count }, 'not a reading'),
  );
  const edges: Edge[] = [];
  // The store, the rules and the broker may speak before there is a link.
  let link: MessageLink | undefined;
  let delivery: Delivery | undefined;
  const contained = createContainment((stage, error) => {
    log.error({ err: error, stage }, 'a fault of the hub itself');
    if (stage !== 'report')
      contained.run('report', () => report('hub', false, `a fault in ${stage}; its log says more`));
  });
  const lastWhy = new Map<string, { time: number; flag: string; why: string }>();

  const watch = createRoomWatch({
    ...{ config, store, topics, log, now, link: () => link, changed: () => live.changed() },
    runNotices: (work) => contained.run('notices', work),
    nudge: () => delivery?.nudge(),
  });

  const probesBehind = (edge: string): string[] =>
    config.probes
      .filter((probe) => (edge === 'mqtt' ? probe.mqtt !== undefined : `serial:${probe.serial?.port}` === edge))
      .map((probe) => probe.id);

  function report(name: string, isUp: boolean, detail: string): void {
    watch.offer({ is: 'edge', name, isUp, detail, probes: probesBehind(name) }, now());
  }

  const listener: EdgeListener = (change) => {
    if (change.isUp) log.info({ edge: change.name }, change.detail);
    else log.warn({ edge: change.name }, change.detail);
    report(change.name, change.isUp, change.detail);
    if (change.name === 'mqtt' && change.isUp) {
      delivery?.nudge();
      contained.run('notices', () => watch.look(now()));
      contained.run('heartbeat', () => lifeSigns.beat());
    }
    live.changed();
  };

  const bindings = bindProbes(config);
  const calibrations = createCalibrations({
    ...{ config, store, probes: bindings.probes },
    told: (evidence, nowMs) => {
      contained.run('calibrations', () => watch.offer(evidence, nowMs));
      live.changed();
    },
  });
  const history = createHistoryCalibrator({ store, calibrations, probes: bindings.probes });
  contained.run('calibrations', () => calibrations.refresh());

  const estimator = createEstimator({ config, store, now });
  const entries = createEntries({
    config,
    store,
    question: (system, analyte, value, unit) => estimator.question(system, analyte, value, unit),
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    entered: (kind, system, body, timeMs) => {
      // The entry is on disk by now: what follows from it may fail without taking it back. What was taken back comes as
      // a note, and may have been a calibration.
      if (kind === 'note') contained.run('calibrations', () => calibrations.refresh());
      contained.run('estimates', () => {
        for (const evidence of estimator.learn(kind, system, body, timeMs)) watch.offer(evidence, now());
      });
      live.changed();
    },
  });

  const reception = createReception({
    ...{ config, store, topics, entries },
    demandAt: (system, timeMs) => estimator.estimateAt(system, 'alkalinity', timeMs),
    learned: (system, body, timeMs) => {
      contained.run('estimates', () => {
        for (const evidence of estimator.learn('arrival', system, body, timeMs)) watch.offer(evidence, now());
      });
      live.changed();
    },
    remind: (reminder, nowMs) => watch.remark(reminder, nowMs),
    stored: () => delivery?.nudge(),
    unstored: (items, error) => {
      log.error({ err: error }, 'a timer could not be stored; it is called from memory');
      if (link !== undefined) sendNow(link, items);
    },
    warn: (line) => log.warn(line),
  });

  const pipeline = createPipeline(bindings, createCarbonateStage(config, estimator.testedWater), {
    keep: (readings) => store.add(readings),
    watch: (readings, nowMs) => {
      for (const reading of readings) watch.offer({ is: 'reading', reading }, nowMs);
    },
    show: (readings) => {
      rememberWhy(lastWhy, readings);
      live.show(readings);
    },
  });
  const sink: ObservationSink = {
    accept: (observations) =>
      contained.run('pipeline', () => {
        lifeSigns.progress.entered();
        pipeline.accept(observations, now());
        lifeSigns.progress.left();
      }),
    reject: rejects.count,
  };

  const lifeSigns = createDeadMansSwitch({
    ...{ clock, serviceManager: adapters.serviceManager, topic: topics.heartbeat, link: () => link },
    facts: () => ({ since: new Date(startedMs).toISOString(), readings: pipeline.counts.accepted }),
  });
  const presence = createPresence(store, clock, (absence) => {
    const standing = watch.standing(now()).filter(({ isStanding }) => isStanding);
    const missed = { probes: config.probes.length, systems: config.systems.length, standing: standing.length };
    const line = absenceLine(absence, missed, now(), config.site.timezone);
    log.warn(absence, line);
    const isUrgent = standing.some(({ priority }) => priority === 'high');
    const priority = isUrgent ? 'high' : absence.isOrderly ? 'low' : 'medium';
    watch.remark({ key: `away#${absence.toMs}`, priority, line }, now());
  });
  const desk = createAlarmDesk({ config, store, watch, now, textOf: watch.textOf, answer });

  const sources = {
    config,
    store,
    standing: (nowMs: number) => watch.standing(nowMs),
    advice: (system: string) => estimator.advice(system),
    edges: () => edges.map((edge) => edge.state()),
    lastWhy: (series: Series) => lastWhy.get(seriesKey(series)),
    isInvented: options.isInvented,
  };
  const weekFiles = (week: string) => weeklyFiles({ config, store, line: adapters.csvLine, nowMs: now }, week);
  const server = await createServer(
    {
      ...{ version, pageDir: options.pageDir, config, clock, store, entries, live, sources, command: desk.command },
      ...{ explain: estimator.explain, containers: estimator.containers },
      calibration: { calibrations, history },
      reception,
      health: () => healthOf({ startedMs, edges, pipeline, rejects, store }),
      week: { files: weekFiles },
    },
    log,
  );
  await server.listen({ host: config.http.host, port: config.http.port });

  options.beforeProbes?.(store);

  let brokerPort: number | undefined;
  if (config.mqtt.url === undefined) {
    const { host, port, most_clients, most_message_bytes } = config.broker;
    const broker = adapters.createBroker(
      { host, port, mostClients: most_clients, mostMessageBytes: most_message_bytes },
      listener,
    );
    edges.push(broker);
    await broker.start();
    brokerPort = broker.port;
  }
  link = adapters.createLink(
    linkChoice(config, brokerPort, options.secrets),
    subscriptionsOf(config),
    sink,
    listener,
    (message) =>
      contained.run('messages', () =>
        handleMessage(
          { topics, entries, nowMs: now, command: desk.fromPhone, arrival: reception.fromPhone, answer, refused },
          message,
        ),
      ),
  );
  delivery = createDelivery(store, link);
  edges.push(link);
  if (config.influx !== undefined)
    edges.push(adapters.createMirror(mirrorChoice(config.influx, options.secrets), store, listener));
  for (const port of config.serial) edges.push(adapters.createSerial(serialChoice(port), sink, listener));

  /** Whoever sent something that was not taken is told: an entry that vanishes is worse than one refused. */
  function refused(topic: string, why: string): void {
    log.warn({ topic, why }, 'a message was not taken');
    answer(phoneLine(`Not taken (${topic.split('/').at(-1)}): ${why}`));
  }

  /** An answer is for whoever asks just now: it is no notice, and old it is no news. */
  function answer(line: string): void {
    if (link !== undefined)
      sendNow(link, [queued(`answer:${now()}`, { topic: topics.phone, payload: line, retain: false })]);
  }

  for (const edge of edges.slice(brokerPort === undefined ? 0 : 1)) await edge.start();
  delivery.nudge();

  const refreshEstimates = (system: string) =>
    contained.run('estimates', () => {
      for (const evidence of estimator.refresh(system)) watch.offer(evidence, now());
    });
  const every = (ms: number, stage: string, work: () => unknown) => setInterval(() => contained.run(stage, work), ms);
  const timers = [
    every(tickMs, 'tick', () => {
      watch.offer({ is: 'time' }, now());
      lifeSigns.progress.judged();
      lifeSigns.tick();
    }),
    every(arrivalTickMs, 'arrivals', () => reception.tick(now())),
    every(minuteMs, 'state of the rules', () => watch.keep(now())),
    every(minuteMs, 'trace', () => presence.mark()),
    every(minuteMs, 'heartbeat', () => lifeSigns.beat()),
    every(tidyEveryMs, 'old readings', () => store.dropReadingsBefore(now() - config.keep_readings_days * dayMs)),
  ];
  const stopRounds = startRounds(
    config.systems.map(({ id }) => id),
    estimateEveryMs,
    refreshEstimates,
  );
  history
    .resume(now())
    .catch((error: unknown) => log.warn({ err: error }, 'the stored readings are not all calibrated as was asked'));
  const weekly = startWeekly({ config, store, nowMs: now, write: adapters.writeFile, files: weekFiles, log });

  const address = server.server.address();
  const url = `http://${config.http.host}:${typeof address === 'object' && address !== null ? address.port : config.http.port}`;
  contained.run('trace', () => presence.mark());
  contained.run('state of the rules', () => watch.keep(now()));
  adapters.serviceManager.ready();
  log.info({ url, brokerPort, systems: config.systems.length, probes: config.probes.length }, 'the hub is running');

  return {
    url,
    brokerPort,
    entries,
    store,
    async stop() {
      adapters.serviceManager.stopping();
      for (const timer of timers) clearInterval(timer);
      stopRounds();
      watch.stop();
      weekly.stop();
      await delivery.stop();
      // Probes first, the link next, the broker last: what was accepted still finds its way.
      for (const edge of edges.toReversed()) await edge.stop();
      live.stop();
      await server.close();
      contained.run('state of the rules', () => watch.keep(now()));
      contained.run('trace', () => presence.markStop());
      store.close();
      log.info('the hub has stopped');
    },
  };
}

function seriesKey(series: Series): string {
  return `${series.system}\0${series.metric}\0${series.probe}`;
}

/** The store keeps numbers; why there is none is remembered for the page, one line for each series. */
function rememberWhy(
  lastWhy: Map<string, { time: number; flag: string; why: string }>,
  readings: readonly Reading[],
): void {
  for (const reading of readings) {
    const value = liveValue(reading);
    const key = seriesKey(reading.series);
    if (value.value === null) lastWhy.set(key, { time: value.time, flag: value.flag, why: value.why ?? '' });
    else lastWhy.delete(key);
  }
}
