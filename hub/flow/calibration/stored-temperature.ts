import type { Store } from '#adapters/ports/store.ts';
import type { BoundProbe } from '../pipeline/bound-probe.ts';

export type TemperatureAt = (timeMs: number) => { timeMs: number; value: number } | undefined;

/**
 * The good temperature that was known at each reading of [fromMs, toMs): the newest one stored at or before it, not older
 * than `atMostMsOld`. To be asked in order of time.
 */
export function storedTemperatures(
  store: Pick<Store, 'readings'>,
  temperatureProbe: BoundProbe | undefined,
  atMostMsOld: number,
  fromMs: number,
  toMs: number,
): TemperatureAt {
  if (temperatureProbe === undefined) return () => undefined;
  const good = store
    .readings(temperatureProbe.series, fromMs - atMostMsOld, toMs)
    .filter(({ flag }) => flag === 'pass' || flag === 'not_evaluated');
  let place = -1;
  return (timeMs) => {
    while (place + 1 < good.length && good[place + 1]!.timeMs <= timeMs) place += 1;
    const found = good[place];
    return found === undefined || timeMs - found.timeMs > atMostMsOld ? undefined : found;
  };
}
