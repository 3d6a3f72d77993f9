import type { MessageLink } from '#adapters/ports/edge.ts';
import type { HistoryAnswer, HistoryAsked, HistoryReader } from '#adapters/ports/history.ts';
import type { HubAdapters, WatchedTopics } from '#adapters/ports/hub-adapters.ts';
import type { Store } from '#adapters/ports/store.ts';
import { mirrorChoice, type Secrets } from '../../model/config/edge-choices.ts';
import type { Config } from '../../model/config/schema.ts';
import { topicsBelow } from '../../model/config/topics.ts';
import { aboutHub } from './about.ts';
import { createFleetState, type FleetState } from './fleet-state.ts';
import { fleetFilters } from './fleet-topics.ts';
import { formerFilters } from './former-filters.ts';

/** Curves that are being read at once; a wall shows one, some people on phones look at others. */
const mostReads = 4;

export type FleetHistoryAnswer = HistoryAnswer | { ok: false; kind: 'no_database' | 'busy'; detail: string };

export type Fleet = Pick<FleetState, 'hubs' | 'hub' | 'counts'> & {
  /** False where the configuration names no other hubs. */
  isConfigured: boolean;
  /** What the link has to listen to. */
  watched: WatchedTopics | undefined;
  /** Age from which the heartbeat of a hub is old. */
  silentAfterMs: number;
  /** @param asked  whose hub is one of the fleet */
  history(asked: HistoryAsked, signal: AbortSignal): Promise<FleetHistoryAnswer>;
  /** Says who this hub is, for others that show it. Called whenever the link stands. */
  introduce(link: Pick<MessageLink, 'publish'> | undefined): void;
};

export type FleetParts = {
  config: Config;
  adapters: Pick<HubAdapters, 'clock' | 'createHistory' | 'readSenml'>;
  secrets: Secrets;
  store: Pick<Store, 'document' | 'commit'>;
};

/** The other hubs of the configuration, and this hub's own word to them. */
export function createFleet({ config, adapters, secrets, store }: FleetParts): Fleet {
  const { fleet, influx, mqtt } = config;
  const prefixes = fleet?.prefixes ?? [];
  const { clock, readSenml } = adapters;
  const state = createFleetState({ prefixes, mostHubs: fleet?.most_hubs ?? 0, clock, readSenml });
  const reader: HistoryReader | undefined =
    fleet === undefined || influx === undefined ? undefined : adapters.createHistory(mirrorChoice(influx, secrets));
  const filters = fleetFilters(prefixes);
  const former = formerFilters(store, filters);
  let reads = 0;

  return {
    isConfigured: fleet !== undefined,
    watched: filters.length + former.length === 0 ? undefined : { filters, former, take: state.take },
    silentAfterMs: (fleet?.silent_after_minutes ?? 3) * 60_000,
    hubs: state.hubs,
    hub: state.hub,
    counts: state.counts,
    async history(asked, signal) {
      if (reader === undefined)
        return { ok: false, kind: 'no_database', detail: 'the configuration of this hub names no influx' };
      if (reads >= mostReads)
        return { ok: false, kind: 'busy', detail: `${mostReads} curves are being read at this moment` };
      reads += 1;
      try {
        return await reader.read({ ...asked, hub: state.hub(asked.hub)?.about?.hub ?? asked.hub }, signal);
      } finally {
        reads -= 1;
      }
    },
    introduce(link) {
      // Who tells no readings tells no names either.
      if (link === undefined || mqtt.readings_every_seconds === 0) return;
      const topic = topicsBelow(mqtt.prefix).about;
      // The next time that the link stands it is said again.
      link.publish(topic, JSON.stringify(aboutHub(config)), { retain: true }).catch(() => {});
    },
  };
}
