import { hourMs } from '../clock/durations.ts';
import { type SlotName, streamAlarms } from './kinds/list.ts';
import { phHint } from './ph-hint.ts';
import type { RoomIndex, Stream } from './room-index.ts';

/** The estimator speaks at every entry and every hour; older than this it has stopped. */
const forecastFreshMs = 3 * hourMs;

/** What the rest of the system says about the cause of an alarm; empty when it says nothing. */
export function hintFor(index: RoomIndex, stream: Stream, slot: SlotName): string {
  const { series, plan } = stream;
  const { nowMs } = index;
  const side = series.metric === 'ph' ? streamAlarms[slot].alarm.side?.(series.figures) : undefined;
  if (side === undefined) return '';
  const fellow = index.bySystem.get(plan.system) ?? [];
  const analyte = index.analytes.get(`${plan.system}/alkalinity`);
  const alkalinity = analyte?.tests.at(-1);
  const band = index.rules.systems.get(plan.system)?.bands.alkalinity;
  const pco2 = fellow.find((other) => other.series.metric === 'pco2' && nowMs - other.series.goodMs < hourMs);
  const isForecastFresh = analyte?.forecastMs != null && nowMs - analyte.forecastMs <= forecastFreshMs;
  return phHint(
    {
      side,
      alkalinity_dKH: alkalinity?.value,
      alkalinityAtMs: alkalinity?.timeMs ?? 0,
      isAlkalinityInBand:
        band === undefined || alkalinity === undefined
          ? undefined
          : alkalinity.value >= band.low && alkalinity.value <= band.high,
      isAlkalinityExpectedToStay: isForecastFresh ? analyte?.forecast.hoursToLeave === null : undefined,
      doses: analyte?.doses ?? [],
      pco2_uatm: pco2?.series.goodValue ?? undefined,
      calibratedAtMs: index.calibrations.find(({ probe }) => probe === series.probe)?.timeMs,
      units: plan.units,
    },
    nowMs,
  );
}
