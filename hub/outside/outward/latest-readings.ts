import * as z from 'zod';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import { readingTopic, senmlPack } from './senml-pack.ts';

/** Where the topics that hold a retained value are remembered, so that one that is no longer ours can be emptied. */
const ledgerName = 'retained readings';
const ledger = z.array(z.string());

export type LatestReadingsParts = {
  prefix: string;
  store: Pick<Store, 'document' | 'commit'>;
  /** Undefined until there is one. */
  link(): Pick<MessageLink, 'publish' | 'state'> | undefined;
  /** Whether the configuration still has this series. */
  isOurs(series: Series): boolean;
  /** Whether the rules hold its probe for silent. */
  isSilent(series: Series): boolean;
};

export type LatestReadings = {
  take(readings: readonly Reading[]): void;
  /** Publishes what is newer than what was published, and what has fallen silent or speaks again. Never waits for the broker. */
  publish(): void;
  /** The broker is back, perhaps without what it held: all is said again. */
  again(): void;
  /** The room's clock has moved: what was read before it keeps its age. */
  moveTimes(byMs: number): void;
};

/**
 * The newest reading of each series for whoever listens on the broker: retained, one topic a series, as SenML.
 *
 * Is: the newest known, with its own time; of a series that left the configuration the topic is emptied, once.
 * Is not: every reading (that is the time-series server's), nor kept for a broker that is away: the next one will do.
 */
export function createLatestReadings(parts: LatestReadingsParts): LatestReadings {
  const { prefix, store } = parts;
  const newest = new Map<string, { reading: Reading; isPublished: boolean; isSilent: boolean }>();
  const retained = new Set<string>(storedLedger());
  /** A series is one object for as long as the pipeline knows it, and its topic is asked for with each reading. */
  const topics = new WeakMap<Series, string>();
  let isTidied = false;

  function topicOf(series: Series): string {
    const known = topics.get(series);
    if (known !== undefined) return known;
    const topic = readingTopic(prefix, series);
    topics.set(series, topic);
    return topic;
  }

  function storedLedger(): string[] {
    try {
      const read = ledger.safeParse(JSON.parse(store.document(ledgerName) ?? '[]'));
      return read.success ? read.data : [];
    } catch {
      return [];
    }
  }

  function keepLedger(): void {
    store.commit({ documents: [{ name: ledgerName, body: JSON.stringify([...retained].toSorted()) }] });
  }

  /** Topics of series that the configuration no longer has. */
  function emptyOld(link: Pick<MessageLink, 'publish'>): void {
    isTidied = true;
    for (const topic of retained) {
      const [system = '', metric = '', probe = ''] = topic.slice(`${prefix}/readings/`.length).split('/');
      if (parts.isOurs({ system, metric: metric as Series['metric'], probe })) continue;
      link
        .publish(topic, '', { retain: true })
        .then(() => {
          retained.delete(topic);
          keepLedger();
        })
        // At the next start the broker is asked again.
        .catch(() => {});
    }
  }

  return {
    take(readings) {
      for (const reading of readings) {
        const known = newest.get(topicOf(reading.series));
        if (known === undefined) newest.set(topicOf(reading.series), { reading, isPublished: false, isSilent: false });
        else if (known.reading.timeMs <= reading.timeMs) {
          known.reading = reading;
          known.isPublished = false;
        }
      }
    },
    publish() {
      const link = parts.link();
      if (link?.state().isUp !== true) return;
      if (!isTidied) emptyOld(link);
      let isLedgerNew = false;
      for (const [topic, item] of newest) {
        const isSilent = parts.isSilent(item.reading.series);
        if (item.isPublished && item.isSilent === isSilent) continue;
        Object.assign(item, { isPublished: true, isSilent });
        isLedgerNew ||= !retained.has(topic);
        retained.add(topic);
        link.publish(topic, senmlPack(item.reading, isSilent), { retain: true }).catch(() => {
          item.isPublished = false;
        });
      }
      if (isLedgerNew) keepLedger();
    },
    again() {
      for (const item of newest.values()) item.isPublished = false;
    },
    moveTimes(byMs) {
      for (const item of newest.values()) {
        item.reading = { ...item.reading, timeMs: item.reading.timeMs + byMs };
        item.isPublished = false;
      }
    },
  };
}
