import type { FastifyBaseLogger } from 'fastify';
import type { EdgeState, MessageLink } from '#adapters/ports/edge.ts';
import type { HubAdapters, OwnBroker } from '#adapters/ports/hub-adapters.ts';
import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { EdgeEvidence } from '#rules/bands/evidence.ts';
import { type Containment, createContainment } from '../flow/pipeline/containment.ts';
import type { Config } from '../model/config/schema.ts';
import { type Topics, topicsBelow } from '../model/config/topics.ts';
import { createLiveClients, type LiveClients } from '../outside/live/live-clients.ts';
import type { HubOptions } from './hub-options.ts';
import type { RoomEdges } from './room-edges.ts';
import { faultOfHub } from './store-news.ts';

/** What every part of the hub stands on, and the three joints through which a part reaches one that is made after it. */
export type Ground = {
  config: Config;
  adapters: HubAdapters;
  options: HubOptions;
  log: FastifyBaseLogger;
  clock: RoomClock;
  now(): number;
  topics: Topics;
  /** A fault of the hub itself stays in its stage, and the rules are told. */
  contained: Containment;
  news: News;
  edges: EdgesView;
  live: LiveClients;
};

/** What the hub itself has to tell the rules; what comes before they are there waits for them. */
export type News = {
  offer(evidence: EdgeEvidence): void;
  /** @param read  gets what waits at once, in its order */
  readBy(read: (evidence: EdgeEvidence) => void): void;
};

/** The edges as the rest of the hub sees them: none until they are made. */
export type EdgesView = {
  link(): MessageLink | undefined;
  states(): EdgeState[];
  /** The broker inside, once it runs. */
  broker(): OwnBroker | undefined;
  /** The broker inside takes users and address of another configuration. */
  reopenBroker(changed: Config): Promise<void>;
  /** Each has been opened or tried once. */
  isStarted(): boolean;
  show(edges: RoomEdges): void;
};

export function layGround(config: Config, adapters: HubAdapters, options: HubOptions): Ground {
  const { log } = options;
  const { clock } = adapters;
  const news = createNews();
  const contained = createContainment((stage, error) => {
    log.error({ err: error, stage }, 'a fault of the hub itself');
    if (stage !== 'report') contained.run('report', () => news.offer(faultOfHub(stage)));
  });
  return {
    config,
    adapters,
    options,
    log,
    clock,
    contained,
    news,
    now: () => clock.nowMs(),
    topics: topicsBelow(config.mqtt.prefix),
    edges: createEdgesView(),
    live: createLiveClients(() => clock.monotonicMs()),
  };
}

function createNews(): News {
  let reader: ((evidence: EdgeEvidence) => void) | undefined;
  const waiting: EdgeEvidence[] = [];
  return {
    offer(evidence) {
      if (reader === undefined) waiting.push(evidence);
      else reader(evidence);
    },
    readBy(read) {
      reader = read;
      for (const evidence of waiting.splice(0)) read(evidence);
    },
  };
}

function createEdgesView(): EdgesView {
  let edges: RoomEdges | undefined;
  return {
    link: () => edges?.link,
    states: () => (edges?.list ?? []).map((edge) => edge.state()),
    isStarted: () => edges?.isStarted() === true,
    broker: () => edges?.broker,
    reopenBroker: async (changed) => edges?.reopenBroker(changed),
    show(made) {
      edges = made;
    },
  };
}
