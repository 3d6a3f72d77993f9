import type { Store } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Correction } from '../../model/journal/calibration-schema.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { BoundProbe } from '../pipeline/bound-probe.ts';
import { isSameWire } from '../pipeline/correction.ts';
import { segmentsOf } from '../pipeline/timeline.ts';

/**
 * Makes sure that what was on the wire can be had again for every reading of [fromMs, toMs) and corrected again.
 *
 * @throws Refused  raw_value_not_recoverable, with the time from which it is
 */
export function demandRecoverable(
  store: Pick<Store, 'readings' | 'summaries'>,
  probe: BoundProbe,
  correction: Correction,
  fromMs: number,
  toMs: number,
): void {
  const segments = segmentsOf(probe.calibration);
  for (const [place, segment] of segments.entries()) {
    const endMs = segments[place + 1]?.fromMs ?? Number.MAX_SAFE_INTEGER;
    if (endMs <= fromMs || segment.fromMs >= toMs) continue;
    if (segment.correction === null) {
      throw notRecoverable(probe, `what corrected the readings before ${iso(endMs)} is not known any more`);
    }
    if (!isSameWire(segment.correction, correction)) {
      throw notRecoverable(probe, 'it sent a pH at one time and a potential at another');
    }
  }
  const firstHour = store.summaries(probe.series, 'hour', hourOf(fromMs), toMs)[0];
  if (firstHour === undefined) return;
  // Raw readings go after a time, their summaries stay. An hour with fewer readings than its summary has lost some.
  const first = store.readings(probe.series, fromMs, toMs, 1)[0];
  const endMs = firstHour.startMs + hourMs;
  const ofHour = store.readings(probe.series, firstHour.startMs, endMs).filter(({ flag }) => flag !== 'fail').length;
  if (ofHour < firstHour.count) {
    const keptFrom = first === undefined ? 'none of them' : first.timeMs >= endMs ? iso(first.timeMs) : iso(endMs);
    const words = `of the readings before that only the summaries are kept; raw readings are kept from: ${keptFrom}`;
    throw notRecoverable(probe, words);
  }
}

function notRecoverable(probe: BoundProbe, why: string): Refused {
  return new Refused(
    'raw_value_not_recoverable',
    `What ${probe.id} sent in that time cannot be recovered: ${why}. Nothing was changed. Choose a later start.`,
  );
}

function hourOf(timeMs: number): number {
  return Math.floor(timeMs / hourMs) * hourMs;
}

function iso(timeMs: number): string {
  return new Date(timeMs).toISOString();
}
