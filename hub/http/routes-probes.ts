import * as z from 'zod';
import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { kclShown_mS_cm, kclStandards } from '#rules/seawater/conductivity-standard.ts';
import { bufferPh, primaryBuffers } from '#rules/seawater/ph-buffer.ts';
import { conductivityFromPracticalSalinity } from '#rules/seawater/practical-salinity.ts';
import type { KeptCalibration } from '../flow/calibration/calibrations.ts';
import { type Steadiness, steadinessOf, steadyLookMs } from '../flow/calibration/steadiness.ts';
import type { BoundProbe } from '../flow/pipeline/bound-probe.ts';
import type { ProbeConfig } from '../model/config/schema.ts';
import type { Verdict } from '../model/journal/calibration-schema.ts';
import { type ShownUnit, shownUnit } from '../model/settings/shown-unit.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';
import { wireUnit } from './routes-calibrations.ts';

/** A probe as the list of probes shows it. Values are in the metric's store unit, times UTC milliseconds. */
export type ProbeView = {
  id: string;
  name: string | null;
  system: string;
  systemName: string;
  metric: Metric;
  label: string;
  unit: string;
  decimals: number;
  shown: ShownUnit | null;
  value: number | null;
  flag: string;
  why: string | null;
  time: number | null;
  /** How long it may be silent before it counts as silent, by the rules; null where nothing is expected. */
  silentAfterMs: number | null;
  calibration: { id: number; time: number; verdict: Verdict } | null;
  /** By the configuration, where nobody calibrated it here: `2026-01-05`. */
  configuredOn: string | null;
  /** It is not judged until then, since somebody works on it. */
  maintenanceUntil: number | null;
};

/** What the calibration of one probe needs to know while it is done. */
export type ProbeDetail = ProbeView & {
  /** In which way it is calibrated: in buffers, in a conductivity standard, or beside a reference. */
  way: 'ph' | 'cell' | 'linear';
  /** The last number on the wire before any correction. `shown_ph` or `potential_mV` for an electrode. */
  wire: { value: number; unit: string; time: number } | null;
  signal: 'ph' | 'mV' | null;
  /** For a display that is referred to 25 °C: its coefficient, % per °C. */
  compensation: number | null;
  steadiness: Steadiness;
};

/** What buffers and standards are at a temperature; null outside of their tables. */
export type StandardsView = {
  temperature_C: number;
  buffers: { id: string; ph: number | null }[];
  conductivity: { id: string; mS_cm: number | null }[];
  seawater: { salinity: number; mS_cm: number | null };
};

export function addProbeRoutes(server: TypedServer, parts: HttpParts): void {
  const { config, store, sources } = parts;
  const { calibrations } = parts.calibration;
  const systemNames = new Map(config.systems.map(({ id, name }) => [id, name]));

  function probeView(probe: ProbeConfig, last: KeptCalibration | undefined, nowMs: number): ProbeView {
    const { metric, system, id } = probe;
    const series = { system, metric, probe: id };
    const latest = store.latest(series);
    const nothing = sources.lastWhy(series);
    const windows = sources.maintenance(nowMs).filter((each) => each.system === system && (each.probe ?? id) === id);
    return {
      ...{ id, name: probe.name ?? null, system, systemName: systemNames.get(system) ?? system, metric },
      ...metricFacts[metric],
      shown: shownUnit(metric, sources.units()),
      ...(nothing !== undefined && (latest === undefined || nothing.time >= latest.timeMs)
        ? { value: null, flag: nothing.flag, why: nothing.why, time: nothing.time }
        : {
            value: latest?.value ?? null,
            flag: latest?.flag ?? 'missing',
            why: latest === undefined ? 'no reading yet' : null,
            time: latest?.timeMs ?? null,
          }),
      silentAfterMs: sources.silence(series, nowMs).allowedMs,
      calibration: last === undefined ? null : { ...timeOf(last), verdict: last.body.verdict },
      configuredOn: probe.calibration?.date ?? null,
      maintenanceUntil: windows.length === 0 ? null : Math.max(...windows.map(({ untilMs }) => untilMs)),
    };
  }

  server.get(
    '/api/probes',
    {
      schema: {
        summary: 'Every probe with its value, its last calibration and what that said of it',
        tags: ['probes'],
      },
    },
    () => {
      const nowMs = parts.clock.nowMs();
      const newest = calibrations.newest();
      return config.probes.map((probe) => probeView(probe, newest.get(probe.id), nowMs));
    },
  );

  server.get(
    '/api/probes/:id',
    {
      schema: {
        summary: 'One probe while it is calibrated: what is on the wire, and whether it has settled',
        tags: ['probes'],
        params: z.object({ id: z.string().min(1).max(40) }),
      },
    },
    (request, reply) => {
      const configured = config.probes.find(({ id }) => id === request.params.id);
      if (configured === undefined) {
        const detail = `there is no probe "${request.params.id}"`;
        return sendProblem(reply, { type: 'about:blank', title: 'No such probe', status: 404, detail });
      }
      const nowMs = parts.clock.nowMs();
      const probe = calibrations.probe(configured.id);
      const lately = store.readings(probe.series, nowMs - steadyLookMs, nowMs + 1);
      const detail: ProbeDetail = {
        ...probeView(configured, calibrations.newest().get(configured.id), nowMs),
        way: wayOf(probe),
        wire:
          probe.lastWire === undefined
            ? null
            : { value: probe.lastWire.value, unit: wireUnit(probe), time: probe.lastWire.timeMs },
        signal: probe.electrode?.signal ?? null,
        compensation: probe.derivation?.compensation_percent_per_C ?? null,
        steadiness: steadinessOf(probe.series.metric, lately, nowMs),
      };
      return detail;
    },
  );

  server.get(
    '/api/calibration-standards',
    {
      schema: {
        summary: 'What pH buffers, conductivity standards and seawater are at a temperature',
        tags: ['probes'],
        querystring: z.object({
          temperature_C: z.coerce.number().min(-5).max(60),
          salinity: z.coerce.number().min(0).max(100).default(35),
        }),
      },
    },
    (request) => standardsAt(request.query.temperature_C, request.query.salinity),
  );
}

function timeOf({ entry }: KeptCalibration): { id: number; time: number } {
  return { id: entry.id, time: entry.timeMs };
}

function wayOf(probe: BoundProbe): ProbeDetail['way'] {
  if (probe.electrode !== undefined) return 'ph';
  return probe.derivation === undefined ? 'linear' : 'cell';
}

function standardsAt(temperature_C: number, salinity: number): StandardsView {
  return {
    temperature_C,
    buffers: primaryBuffers.map((id) => ({ id, ph: withinTable(() => bufferPh(id, temperature_C)) })),
    conductivity: kclStandards.map((id) => ({ id, mS_cm: withinTable(() => kclShown_mS_cm(id, temperature_C)) })),
    seawater: { salinity, mS_cm: withinTable(() => conductivityFromPracticalSalinity(salinity, temperature_C)) },
  };
}

/** A formula refuses what lies outside of its table; there it is not known. */
function withinTable(value: () => number): number | null {
  try {
    return value();
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    return null;
  }
}
