import { lowPhHint } from './ph-hint.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { SlotName } from './rule-settings.ts';

/** What the rest of the system says about the cause of an alarm; empty when it says nothing. */
export function hintFor(index: RoomIndex, stream: Stream, slot: SlotName, nowMs: number): string {
  const { series, plan } = stream;
  if (series.metric !== 'ph') return '';
  const { moveInHour, distanceFromUsual } = series.figures;
  const isLow =
    slot === 'below' || (slot === 'rate' && moveInHour < 0) || (slot === 'departure' && distanceFromUsual < 0);
  if (!isLow) return '';
  const fellow = index.bySystem.get(plan.system) ?? [];
  const alkalinity = index.analytes.get(`${plan.system}/alkalinity`)?.tests.at(-1);
  const band = index.rules.systems.get(plan.system)?.bands.alkalinity;
  const pco2 = fellow.find((other) => other.series.metric === 'pco2' && nowMs - other.series.goodMs < 3_600_000);
  return lowPhHint(
    {
      alkalinity_dKH: alkalinity?.value,
      alkalinityAtMs: alkalinity?.timeMs ?? 0,
      isAlkalinityInBand:
        band === undefined || alkalinity === undefined
          ? undefined
          : alkalinity.value >= band.low && alkalinity.value <= band.high,
      pco2_uatm: pco2?.series.goodValue ?? undefined,
      units: plan.units,
    },
    nowMs,
  );
}
