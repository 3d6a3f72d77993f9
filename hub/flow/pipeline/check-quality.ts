import type { Reading } from '#rules/quality/reading.ts';
import { checkReading } from '#rules/quality/stream-check.ts';
import type { BoundProbe } from './bound-probe.ts';

/** Stage "quality flag": the reading as the rest of the hub knows it. Remembers the last good value of the probe. */
export function withQuality(probe: BoundProbe, value: number, timeMs: number): Reading {
  const quality = checkReading(probe.checks, probe.streamState, value, timeMs);
  if (quality.flag === 'pass' || quality.flag === 'not_evaluated') {
    if (probe.lastGood === undefined) probe.lastGood = { timeMs, value: quality.value };
    else if (timeMs >= probe.lastGood.timeMs) {
      probe.lastGood.timeMs = timeMs;
      probe.lastGood.value = quality.value;
    }
  }
  return { series: probe.series, timeMs, quality };
}
