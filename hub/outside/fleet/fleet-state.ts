import type { Clock, Message } from '#adapters/ports/edge.ts';
import type { ReadSenml } from '#adapters/ports/hub-adapters.ts';
import { type About, aboutSchema } from './about.ts';
import { type HubTopic, hubTopicOf } from './fleet-topics.ts';
import {
  alarmSchema,
  type HubAlarm,
  type HubReading,
  type HubStatus,
  type HubWeek,
  heartbeatSchema,
  readJson,
  readReading,
  statusSchema,
  weekSchema,
} from './hub-messages.ts';

/** When something was heard, by the monotonic clock; `isLive` when it was said just then and not kept by the broker. */
export type Heard = { atMonotonicMs: number; isLive: boolean };

export type HeardReading = HubReading & Heard;

/** All that is known of one other hub, as it said it. */
export type HubRecord = {
  hub: string;
  firstHeardMonotonicMs: number;
  about: About | undefined;
  status: (HubStatus & Heard) | undefined;
  heartbeat: ({ timeMs: number } & Heard) | undefined;
  week: HubWeek | undefined;
  /** By system, metric and probe. */
  series: Map<string, HeardReading>;
  /** By alarm; one that was cleared is kept while there is room, since its acknowledgement may still come. */
  alarms: Map<string, HubAlarm>;
};

/** Of one hub, and of all; what is beyond is dropped and counted. A series takes about half a kilobyte. */
export const fleetBounds = {
  seriesOfHub: 3000,
  alarmsOfHub: 2000,
  seriesInAll: 60_000,
  alarmsInAll: 20_000,
  systemsInAll: 20_000,
} as const;

export type FleetCounts = Record<
  | 'messages'
  | 'unreadable'
  | 'too_many_hubs'
  | 'too_many_systems'
  | 'too_many_series'
  | 'too_many_alarms'
  | 'hubs'
  | 'systems'
  | 'series'
  | 'alarms',
  number
>;

export type FleetState = {
  take(message: Message): void;
  hubs(): readonly HubRecord[];
  hub(name: string): HubRecord | undefined;
  counts(): FleetCounts;
};

export type FleetStateParts = {
  prefixes: readonly string[];
  mostHubs: number;
  clock: Clock;
  readSenml: ReadSenml;
};

/**
 * The other hubs of a fleet as far as their retained topics tell. Held in memory alone: the broker says it all again.
 *
 * Is: bounded in hubs, systems, series and alarms, whoever publishes; the last word of each topic. An emptied topic is
 * forgotten, and a hub of whom nothing is left with it.
 * Is not: a source of readings, alarms or notices of this hub; nothing here reaches the pipeline, the rules or the store.
 */
export function createFleetState(parts: FleetStateParts): FleetState {
  const { clock, mostHubs } = parts;
  const placeOf = hubTopicOf(parts.prefixes);
  const records = new Map<string, HubRecord>();
  const counts: FleetCounts = {
    messages: 0,
    unreadable: 0,
    hubs: 0,
    systems: 0,
    series: 0,
    alarms: 0,
    too_many_hubs: 0,
    too_many_systems: 0,
    too_many_series: 0,
    too_many_alarms: 0,
  };

  function recordOf(hub: string): HubRecord | undefined {
    const known = records.get(hub);
    if (known !== undefined) return known;
    if (records.size >= mostHubs) {
      counts.too_many_hubs += 1;
      return undefined;
    }
    const record: HubRecord = {
      hub,
      firstHeardMonotonicMs: clock.monotonicMs(),
      about: undefined,
      status: undefined,
      heartbeat: undefined,
      week: undefined,
      series: new Map(),
      alarms: new Map(),
    };
    records.set(hub, record);
    counts.hubs = records.size;
    return record;
  }

  function forget({ hub, kind, rest }: HubTopic): void {
    const record = records.get(hub);
    if (record === undefined) return;
    const key = rest.join('/');
    if (kind === 'readings') counts.series -= record.series.delete(key) ? 1 : 0;
    else if (kind === 'alarms') counts.alarms -= record.alarms.delete(key) ? 1 : 0;
    else {
      if (kind === 'about') counts.systems -= record.about?.systems.length ?? 0;
      record[kind] = undefined;
    }
    const { about, status, heartbeat, week } = record;
    const isEmpty = [about, status, heartbeat, week].every((each) => each === undefined);
    if (!isEmpty || record.series.size > 0 || record.alarms.size > 0) return;
    records.delete(hub);
    counts.hubs = records.size;
  }

  function keepAbout(record: HubRecord, about: About): void {
    const more = about.systems.length - (record.about?.systems.length ?? 0);
    if (counts.systems + more > fleetBounds.systemsInAll) {
      counts.too_many_systems += 1;
      return;
    }
    counts.systems += more;
    record.about = about;
  }

  function keepReading(record: HubRecord, key: string, reading: HubReading, heard: Heard): void {
    const before = record.series.get(key);
    if (before === undefined) {
      if (record.series.size >= fleetBounds.seriesOfHub || counts.series >= fleetBounds.seriesInAll) {
        counts.too_many_series += 1;
        return;
      }
      counts.series += 1;
    }
    record.series.set(key, { ...reading, ...heard });
  }

  function keepAlarm(record: HubRecord, alarm: HubAlarm): void {
    const before = record.alarms.get(alarm.alarm);
    if (before === undefined) {
      if (record.alarms.size >= fleetBounds.alarmsOfHub || counts.alarms >= fleetBounds.alarmsInAll) {
        const over = [...record.alarms.values()].find(({ state }) => state === 'cleared');
        if (over === undefined) {
          counts.too_many_alarms += 1;
          return;
        }
        record.alarms.delete(over.alarm);
        counts.alarms -= 1;
      }
      counts.alarms += 1;
    }
    // What ended before anybody saw it may be acknowledged afterwards, and does not stand again by that.
    const isLateSeen = alarm.state === 'acknowledged' && before?.state === 'cleared';
    if (isLateSeen && before.occurrence === alarm.occurrence) return;
    record.alarms.set(alarm.alarm, alarm);
  }

  /** @returns false for what cannot be read */
  function keep({ hub, kind, rest }: HubTopic, text: string, heard: Heard): boolean {
    const key = rest.join('/');
    const read = <Said>(said: Said | undefined, into: (record: HubRecord, said: Said) => void): boolean => {
      const record = said === undefined ? undefined : recordOf(hub);
      if (said !== undefined && record !== undefined) into(record, said);
      return said !== undefined;
    };
    switch (kind) {
      case 'status':
        return read(readJson(statusSchema, text), (record, said) => (record.status = { ...said, ...heard }));
      case 'heartbeat':
        return read(readJson(heartbeatSchema, text), (record, { time }) => {
          record.heartbeat = { timeMs: time, ...heard };
        });
      case 'week':
        return read(readJson(weekSchema, text), (record, said) => (record.week = said));
      case 'about':
        return read(readJson(aboutSchema, text), keepAbout);
      case 'readings':
        return read(readReading(rest, text, clock.nowMs(), parts.readSenml), (record, said) =>
          keepReading(record, key, said, heard),
        );
      case 'alarms': {
        const said = readJson(alarmSchema, text);
        return read(said?.alarm === key ? said : undefined, keepAlarm);
      }
    }
  }

  return {
    take({ topic, payload, isRetained }) {
      const place = placeOf(topic);
      if (place === undefined) return;
      counts.messages += 1;
      if (payload.length === 0) forget(place);
      else if (!keep(place, payload.toString('utf8'), { atMonotonicMs: clock.monotonicMs(), isLive: !isRetained }))
        counts.unreadable += 1;
    },
    hubs: () => [...records.values()],
    hub: (name) => records.get(name),
    counts: () => ({ ...counts }),
  };
}
