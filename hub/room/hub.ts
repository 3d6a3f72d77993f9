import type { EdgeListener } from '#adapters/ports/edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import type { JournalKind } from '#adapters/ports/store.ts';
import { substances } from '#rules/dosing/substances.ts';
import { createHistoryCalibrator } from '../flow/calibration/apply-to-history.ts';
import { createCalibrations } from '../flow/calibration/calibrations.ts';
import { createEntries } from '../flow/entries/enter.ts';
import { bindProbes } from '../flow/pipeline/bound-probe.ts';
import { createContainment } from '../flow/pipeline/containment.ts';
import { createRejectCounts } from '../flow/pipeline/counters.ts';
import { createCarbonateStage } from '../flow/pipeline/derive-carbonate.ts';
import { createLastReasons } from '../flow/pipeline/last-reasons.ts';
import { createPipeline } from '../flow/pipeline/pipeline.ts';
import { watchClocks } from '../flow/pipeline/wrong-clocks.ts';
import { createServer } from '../http/server.ts';
import { createReception } from '../judgement/arrivals/reception.ts';
import { createDeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import { createEstimator } from '../judgement/estimate/estimator.ts';
import { sendNow } from '../judgement/notices/deliver.ts';
import { createDeliveries } from '../judgement/notices/deliveries.ts';
import { createLinkMemory } from '../judgement/notices/link-memory.ts';
import { waysTo } from '../judgement/notices/notice-items.ts';
import { calibratedLine } from '../judgement/notices/taken-line.ts';
import { createAlarmDesk } from '../judgement/watch/alarm-desk.ts';
import { createJudging } from '../judgement/watch/judging.ts';
import { createRoomWatch } from '../judgement/watch/room-watch.ts';
import type { Config } from '../model/config/schema.ts';
import { withPast } from '../model/config/system-at.ts';
import { createSettings } from '../model/settings/settings.ts';
import { topicsBelow } from '../model/topics.ts';
import { createAccess } from '../outside/access/access.ts';
import { pageUrl, whereToListen } from '../outside/access/where-to-listen.ts';
import { absenceRemark } from '../outside/away/absence-remark.ts';
import { createDeadMansSwitch } from '../outside/away/dead-mans-switch.ts';
import { createPresence } from '../outside/away/presence.ts';
import { createFleet } from '../outside/fleet/fleet.ts';
import { handleMessage } from '../outside/inward/incoming-messages.ts';
import { createLiveClients } from '../outside/live/live-clients.ts';
import { createEdgeTroubles } from '../outside/observability/edge-troubles.ts';
import { createObserver } from '../outside/observability/observer.ts';
import { createOutward } from '../outside/outward/outward.ts';
import { createNowDesk } from '../reports/now/now-desk.ts';
import { createTodayTeller } from '../reports/now/today-told.ts';
import { configurationsSeen, heldBefore } from '../reports/week/review/configuration-seen.ts';
import { createWeekDesk } from '../reports/week/week-desk.ts';
import { startWeekly } from '../reports/week/weekly-schedule.ts';
import { version } from '../version.ts';
import { endWithin } from './end-within.ts';
import type { Hub, HubOptions } from './hub-options.ts';
import { openRoomStore } from './open-room-store.ts';
import { createPhoneAnswers } from './phone-answers.ts';
import { createRoomEdges, type RoomEdges } from './room-edges.ts';
import { roomSources } from './room-sources.ts';
import { startRoutine } from './routine.ts';
import { savesOrRefuses } from './saves-or-refuses.ts';
import { faultOfHub } from './store-news.ts';

export type { Hub };

/**
 * Puts the hub together from its configuration and the concrete adapters, and starts it. The order matters: the store
 * first, since everything else writes to it; the page next, since it must answer even when a broker is away; the probes
 * last, when there is somewhere for a reading to go.
 */
export async function startHub(config: Config, adapters: HubAdapters, options: HubOptions): Promise<Hub> {
  const { log } = options;
  const { clock } = adapters;
  const now = () => clock.nowMs();
  const topics = topicsBelow(config.mqtt.prefix);

  const live = createLiveClients(() => clock.monotonicMs());
  const rejects = createRejectCounts((source, reason, found, count) =>
    log.warn({ source, reason, found, count }, 'not a reading'),
  );
  // The store, the rules and the broker may speak before there is a link.
  let edges: RoomEdges | undefined;
  const link = () => edges?.link;
  const { answer, refused } = createPhoneAnswers({ topics, link, log });
  const edgeStates = () => (edges?.list ?? []).map((edge) => edge.state());
  const contained = createContainment((stage, error) => {
    log.error({ err: error, stage }, 'a fault of the hub itself');
    if (stage !== 'report') contained.run('report', () => watch.offer(faultOfHub(stage), now()));
  });
  const room = openRoomStore({ config, adapters, log, contained, tell: (news) => watch.offer(news, now()) });
  const { store, roomTime, dating } = room;
  const [forEntries, forPeople] = [savesOrRefuses(store, 'entries'), savesOrRefuses(store, 'all')];
  const startedMs = now();
  const reasons = createLastReasons();

  const settings = createSettings({
    ...{ config, store: forPeople },
    changed: (effective) => contained.run('settings', () => watch.follow(effective)),
    unreadable: () => log.warn('the settings of the page cannot be read; those of the file hold'),
  });
  const notifiers = adapters.createNotifiers({ topics, link });
  const ways = waysTo(notifiers);
  const deliveries = createDeliveries({
    ...{ store, notifiers, nowMs: now },
    report: (isUp, detail) => report('notices', isUp, detail),
  });
  const watch = createRoomWatch({
    ...{ store, notifiers, log, now, changed: () => live.changed() },
    ...{ config: settings.effective(), isClockTrusted: dating.isClockTrusted },
    runNotices: (work) => contained.run('notices', work),
    soon: setImmediate,
    nudge: () => deliveries.nudge(),
    unreadable: (name) => void setImmediate(() => contained.run('store', () => room.lostDocument(name))),
  });

  // Of the hub's own broker each client's return is told.
  const linkMemory = createLinkMemory(store, () =>
    watch.sayAgain(edges === undefined || edges.brokerPort === undefined),
  );

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
      deliveries.nudge();
      contained.run('notices', () => watch.look(now()));
      contained.run('notices', () => linkMemory.found(change.hasForgotten === true));
      contained.run('heartbeat', () => lifeSigns.beat());
      fleet.introduce(link());
      outward.again();
    }
    if (change.name === 'mqtt' && !change.isUp) contained.run('notices', () => linkMemory.leaves());
    live.changed();
  };

  const outward = createOutward(
    config,
    store,
    link,
    (work) => contained.run('readings to the broker', work),
    (series) => watch.silence(series, now()).isSilent,
  );
  clock.onChange(({ kind, byMs }) => kind !== 'refused' && outward.moveTimes(byMs));
  const bindings = bindProbes(config);
  const calibrations = createCalibrations({
    ...{ config, store: forEntries, probes: bindings.probes },
    told: (evidence, nowMs) => {
      contained.run('calibrations', () => watch.offer(evidence, nowMs));
      if (evidence.is === 'calibration') answer(calibratedLine(evidence, nowMs, config));
      live.changed();
    },
  });
  const history = createHistoryCalibrator({ store: forEntries, calibrations, probes: bindings.probes });
  contained.run('calibrations', () => calibrations.refresh());

  const overTime = withPast(config, heldBefore(configurationsSeen(store)), now());
  const estimator = createEstimator({ config: overTime, store, now });
  const judging = createJudging({
    ...{ config, store, watch, now },
    monotonicMs: () => clock.monotonicMs(),
    contained: (work) => contained.run('entries', work),
  });
  function follow(kind: JournalKind, system: string, timeMs: number): void {
    contained.run('estimates', () => {
      for (const evidence of estimator.follow(kind, system, timeMs)) watch.offer(evidence, now());
    });
    live.changed();
  }
  const entries = createEntries({
    config,
    store: forEntries,
    question: (system, analyte, value, unit) => estimator.question(system, analyte, value, unit),
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    entered: (kind, system, test, timeMs) => {
      // The entry is on disk by now: what follows from it may fail without taking it back. What was taken back comes as
      // a note, and may have been a calibration.
      if (test !== undefined) outward.entered(system, test, timeMs);
      if (kind === 'note') contained.run('calibrations', () => calibrations.refresh());
      judging.entered(system);
      follow(kind, system, timeMs);
    },
  });

  const reception = createReception({
    ...{ config, store: forPeople, ways, entries, units: () => settings.effective().display_units },
    demandAt: (system, timeMs) => estimator.estimateAt(system, 'alkalinity', timeMs),
    learned: (system, timeMs) => follow('arrival', system, timeMs),
    remind: (reminder, nowMs) => watch.remark(reminder, nowMs),
    stored: () => deliveries.nudge(),
    unstored: (items, error) => {
      log.error({ err: error }, 'a timer could not be stored; it is called from memory');
      sendNow(notifiers, items);
    },
    warn: (line) => log.warn(line),
  });

  const clocks = watchClocks((probe, aheadMs) => {
    if (aheadMs === undefined) log.info({ probe }, "the probe's clock is right again");
    else log.warn({ probe, aheadMs }, "the probe's clock is ahead of the hub's: its readings are dropped");
  });
  const pipeline = createPipeline(bindings, createCarbonateStage(config, estimator.testedWater), {
    ...{ dating, clocks },
    keep: (readings) => store.add(readings),
    watch: (readings, nowMs) => {
      for (const reading of readings) watch.offer({ is: 'reading', reading }, nowMs);
    },
    show: (readings) => {
      reasons.remember(readings);
      outward.take(readings);
      live.show(readings);
    },
  });
  const sink: ObservationSink = {
    accept: (observations) =>
      contained.run('pipeline', () => {
        lifeSigns.progress.entered();
        observer.measure(observations, () => pipeline.accept(observations, now()));
        lifeSigns.progress.left();
      }),
    reject: rejects.count,
  };

  const lifeSigns = createDeadMansSwitch({
    ...{ clock, serviceManager: adapters.serviceManager, topic: topics.heartbeat, link },
    facts: () => {
      const { status, causes } = observer.health();
      return {
        since: new Date(startedMs).toISOString(),
        readings: pipeline.counts.accepted,
        status,
        causes: causes.slice(0, 5),
      };
    },
  });
  const presence = createPresence(store, clock, absenceRemark(config, watch, now, log), dating.isClockTrusted);
  roomTime.lead([
    { keep: () => presence.mark() },
    { moveTimes: reception.moveTimers, keep: reception.keep },
    { moveTimes: watch.moveTimes, keep: () => watch.keep(now()) },
  ]);
  const observer = createObserver({
    ...{ version, config, clock, startedMs, room, watch, pipeline, rejects, contained, live, log },
    progress: lifeSigns.progress,
    edges: edgeStates,
    isStarted: () => edges?.isStarted() === true,
    destinations: [...notifiers.map(({ destination }) => destination), 'influx'],
    ...{ deliveries, judging, wrongClocks: clocks.list, doorFault: () => access.fault() },
  });
  const declined = createDeclinedAdvice(forEntries);
  const todo = createNowDesk({ config, store, reception, declined, watch, estimator });
  const desk = createAlarmDesk({
    ...{ config, store, watch, now, textOf: watch.textOf, answer },
    today: () => todo.told(now()),
  });

  const sources = roomSources({
    ...{ config, store, watch, estimator, reasons, isInvented: options.isInvented, edges: edgeStates },
    causes: () => observer.health().causes,
    units: () => settings.effective().display_units,
  });
  const { isInvented, secrets } = options;
  const fleet = createFleet({ config, adapters, secrets, store, units: sources.units });
  const week = createWeekDesk({ config, store, line: adapters.csvLine, units: sources.units, isInvented, nowMs: now });
  const access = createAccess({ config, nowMs: now, log });
  const server = await createServer(
    {
      ...{ version, pageDir: options.pageDir, config, clock, store: forEntries, access, entries, live, sources },
      ...{ command: desk.command, health: observer.health, metrics: observer.metrics },
      ...{ explain: estimator.explain, containers: estimator.containers, declined, todo },
      calibration: { calibrations, history },
      ...{ reception, settings, configFile: options.configFile },
      ...{ week, fleet },
    },
    log,
  );
  const { host, refused: whyNotWider } = whereToListen(config.http.host, access.isNeeded());
  if (whyNotWider !== undefined) log.error(whyNotWider);
  await server.listen({ host, port: config.http.port }).catch((error: unknown) => {
    store.close();
    throw error;
  });

  options.beforeProbes?.(store);

  edges = await createRoomEdges({
    ...{ config, adapters, secrets, store, sink, listener, log, watched: fleet.watched },
    onReturned: (filters, awayMs) => {
      if (filters.some((filter) => filter === topics.phone || /[+#]/.test(filter)))
        contained.run('notices', () => watch.owe(awayMs === undefined ? 0 : now() - awayMs, now()));
    },
    onMessage: (message) =>
      contained.run('messages', () => {
        handleMessage(
          {
            ...{ config, topics, entries, nowMs: now, command: desk.fromPhone, arrival: reception.fromPhone },
            ...{ answer, refused },
          },
          message,
        );
        live.changed();
      }),
  });

  contained.run('notices', () => linkMemory.leaves());
  await edges.start();
  deliveries.nudge();
  const stopRoutine = startRoutine({
    ...{ config, store, watch, judging, deliveries, calibrations, estimator, reception, lifeSigns },
    ...{ edgeTroubles: createEdgeTroubles(edgeStates, report) },
    ...{ presence, contained, roomTime, observer, now },
    teller: createTodayTeller({ config, store, ways, todo, nudge: () => deliveries.nudge() }),
  });
  history
    .resume(now())
    .catch((error: unknown) => log.warn({ err: error }, 'the stored readings are not all calibrated as was asked'));
  const weekly = startWeekly({
    ...{ config, store, nowMs: now, write: adapters.writeFile, files: week.files, log },
    tell: { ways, config: settings.effective, review: week.review, nudge: () => deliveries.nudge() },
  });

  const url = pageUrl(config.http, host, server.server.address());
  adapters.serviceManager.ready();
  const { brokerPort } = edges;
  log.info({ url, brokerPort, systems: config.systems.length, probes: config.probes.length }, 'the hub is running');

  return {
    url,
    refused: whyNotWider,
    brokerPort,
    entries,
    store,
    async stop() {
      adapters.serviceManager.stopping();
      stopRoutine();
      outward.stop();
      roomTime.stop();
      watch.stop();
      weekly.stop();
      await endWithin(log, [
        ['backups', 4_000, () => observer.stop()],
        ['notices', 1_000, () => deliveries.stop()],
        ['edges', 9_000, async () => edges?.stop()],
      ]);
      live.stop();
      await endWithin(log, [['page', 4_000, () => server.close()]]);
      contained.run('state of the rules', () => watch.keepAll(now()));
      contained.run('trace', () => presence.markStop());
      store.close();
      log.info('the hub has stopped');
    },
  };
}
