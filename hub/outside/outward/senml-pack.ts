import type * as z from 'zod';
import type { Reading, Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { fromStoreUnit } from '#rules/quantity/unit.ts';
import type { readingPayload } from '../../judgement/notices/payload-schemas.ts';

type SenmlRecord = z.infer<typeof readingPayload>[number];

/**
 * The registered SenML units of our metrics. A metric that is not here (dKH, mg/L, practical salinity and others) is sent
 * in its store unit without a unit, since the registry has none for it.
 *
 * @source RFC 8428, 12.1: Cel, pH, S/m; RFC 8798, 3 (secondary units): mV, mm
 */
const registeredUnit: Partial<Record<Metric, { senml: NonNullable<SenmlRecord['u']>; ours: string }>> = {
  temperature: { senml: 'Cel', ours: '°C' },
  ph: { senml: 'pH', ours: '' },
  conductivity: { senml: 'S/m', ours: 'S/m' },
  specific_conductance_25: { senml: 'S/m', ours: 'S/m' },
  orp: { senml: 'mV', ours: 'mV' },
  level: { senml: 'mm', ours: 'mm' },
};

/** Enough for any probe, and without the digits that a change of unit leaves behind (5.300000000000001). */
const digits = 10;

/**
 * One reading as a SenML pack in JSON (RFC 8428): its value, and beside it its quality flag as a text record. A reading
 * that failed or is missing has its flag alone, so that no receiver takes it for a value. Where the hub holds the probe for
 * silent, a boolean record before the flag says so.
 */
export function senmlPack({ series, timeMs, quality }: Reading, isSilent = false): string {
  const base = { bn: `${series.system}/${series.metric}/`, bt: timeMs / 1000 };
  const flag: SenmlRecord = { n: `${series.probe}/flag`, vs: quality.flag };
  const silent: SenmlRecord[] = isSilent ? [{ n: `${series.probe}/silent`, vb: true }] : [];
  if (quality.flag === 'missing' || quality.flag === 'fail')
    return JSON.stringify([...silent, flag].map((record, place) => (place === 0 ? { ...base, ...record } : record)));
  const unit = registeredUnit[series.metric];
  const value = unit === undefined ? quality.value : fromStoreUnit(series.metric, quality.value, unit.ours);
  const record: SenmlRecord = {
    ...base,
    n: series.probe,
    ...(unit === undefined ? {} : { u: unit.senml }),
    v: rounded(value),
  };
  return JSON.stringify([record, ...silent, flag]);
}

function rounded(value: number): number {
  return Number(value.toPrecision(digits));
}

/** One topic for each series below the hub's prefix. */
export function readingTopic(prefix: string, { system, metric, probe }: Series): string {
  return `${prefix}/readings/${system}/${metric}/${probe}`;
}
