import type { MessageLink } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import type { Config } from '../../model/config/schema.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { createLatestReadings } from './latest-readings.ts';

/** The probe of a value that a person measured. */
export const handTest = 'test';

export type Outward = {
  take(readings: readonly Reading[]): void;
  /** A test that was entered goes out beside the probes. */
  entered(system: string, test: BodyOf<'test'>, timeMs: number): void;
  /** The broker is back. */
  again(): void;
  moveTimes(byMs: number): void;
  stop(): void;
};

/** What the room tells whoever listens on its broker; nothing when the configuration asks for nothing. */
export function createOutward(
  config: Config,
  store: Pick<Store, 'document' | 'commit'>,
  link: () => Pick<MessageLink, 'publish' | 'state'> | undefined,
  run: (work: () => void) => void,
  isSilent: (series: Series) => boolean,
): Outward {
  const everyMs = config.mqtt.readings_every_seconds * 1000;
  if (everyMs === 0) return { take: () => {}, entered: () => {}, again: () => {}, moveTimes: () => {}, stop: () => {} };
  const systems = new Set(config.systems.map(({ id }) => id));
  const probes = new Set(config.probes.map(({ id }) => id));
  const latest = createLatestReadings({
    prefix: config.mqtt.prefix,
    store,
    link,
    isSilent,
    isOurs: ({ system, probe }) => systems.has(system) && (probe === handTest || probes.has(probe)),
  });
  const timer = setInterval(() => run(latest.publish), everyMs);
  return {
    take: latest.take,
    again: latest.again,
    moveTimes: latest.moveTimes,
    entered(system, { analyte, value }, timeMs) {
      const series = { system, metric: analyte, probe: handTest };
      latest.take([{ series, timeMs, quality: { flag: 'not_evaluated', value } }]);
    },
    stop: () => clearInterval(timer),
  };
}
