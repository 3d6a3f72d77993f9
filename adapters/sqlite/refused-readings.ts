import type { Reading } from '#rules/quality/reading.ts';
import type { StoreFault } from './store-options.ts';
import { type KeepableReading, keptFrom } from './write-buffer.ts';

/** In the year 37648: the step between two such times, doubled, is still exact. */
const greatestTimeMs = 2 ** 50;

/** Why a reading can stand in no store. */
export function flawOf(reading: KeepableReading): string | undefined {
  if (!Number.isFinite(keptFrom(reading).value)) return 'A reading without a finite value';
  return Math.abs(reading.timeMs) <= greatestTimeMs ? undefined : 'A reading without a usable time';
}

/** Reports each reason once: a stream of bad readings must not become a stream of reports. */
export function refusedReadings(onFault: (fault: StoreFault) => void) {
  const known = new Set<string>();
  return (reason: string, { series: { system, metric, probe } }: Reading): void => {
    if (known.has(reason)) return;
    known.add(reason);
    onFault({ kind: 'reading_refused', detail: `${reason}; first seen from ${system}/${metric}/${probe}.` });
  };
}
