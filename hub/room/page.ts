import { createServer } from '../http/server.ts';
import { phScales } from '../judgement/estimate/advice-input.ts';
import { ionsNow } from '../judgement/estimate/ions-now.ts';
import { createMonthsAhead } from '../judgement/estimate/months-ahead.ts';
import { nutrientsNow } from '../judgement/estimate/nutrients-now.ts';
import { sourcesNow } from '../judgement/estimate/sources-now.ts';
import { pageUrl, whereToListen } from '../outside/access/where-to-listen.ts';
import { version } from '../version.ts';
import type { WholeRoom } from './whole-room.ts';

export type Page = {
  /** Why it is on this machine alone, although the configuration wants more. */
  refused: string | undefined;
  /** Known when it listens. */
  url(): string;
  listen(): Promise<void>;
  close(): Promise<void>;
};

/** The HTTP edge, with all that it shows and takes. */
export async function createPage(room: WholeRoom): Promise<Page> {
  const { config, clock, options, log, live, edges, record, judges, entering, readings, upkeep, answering } = room;
  const { store, forEntries } = record;
  const { watch, settings } = judges;
  const { entries, estimator, volumes, gas, calibrations, history, livestock } = entering;
  const { access, observer } = upkeep;
  const { declined, todo, week, fleet, alarms, phones, titrator } = answering;
  const ahead = createMonthsAhead(store);
  const server = await createServer(
    {
      version,
      pageDir: options.pageDir,
      config,
      clock,
      store: forEntries,
      access,
      entries,
      live,
      command: alarms.command,
      health: observer.health,
      metrics: observer.metrics,
      explain: estimator.explain,
      containers: estimator.containers,
      volumes,
      declined,
      todo,
      monthsAhead: (id: string) => {
        const system = entering.overTime.systems.find((each) => each.id === id);
        return system && ahead(system, clock.nowMs());
      },
      alkalineSources: (id: string) => {
        const system = entering.overTime.systems.find((each) => each.id === id);
        return system && sourcesNow(store, system, phScales(config), clock.nowMs());
      },
      gas: gas.of,
      lamps: entering.lamps,
      ions: (id: string) => {
        const system = entering.overTime.systems.find((each) => each.id === id);
        return system && ionsNow(store, system, clock.nowMs());
      },
      nutrients: (system: string) => nutrientsNow(estimator, system),
      calibration: { calibrations, history },
      livestock,
      settings,
      configFile: options.configFile,
      week,
      fleet,
      phones,
      titrator,
      kits: { register: entering.kits, learned: entering.learned },
      areAnswersChecked: options.areAnswersChecked === true,
      sources: {
        config,
        store,
        isInvented: options.isInvented,
        edges: edges.states,
        units: () => settings.effective().display_units,
        causes: () => observer.health().causes,
        standing: watch.standing,
        silence: watch.silence,
        maintenance: watch.maintenance,
        advice: estimator.advice,
        lastWhy: readings.reasons.of,
      },
    },
    log,
  );
  const { host, refused } = whereToListen(config.http.host, access.isNeeded());
  return {
    refused,
    url: () => pageUrl(config.http, host, server.server.address()),
    async listen() {
      if (refused !== undefined) log.error(refused);
      await server.listen({ host, port: config.http.port });
    },
    async close() {
      live.stop();
      await server.close();
    },
  };
}
