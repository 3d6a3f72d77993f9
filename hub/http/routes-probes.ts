import { metricFacts } from '#rules/quantity/metric.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { kclShown_mS_cm, kclStandards } from '#rules/seawater/conductivity-standard.ts';
import { bufferPh, primaryBuffers } from '#rules/seawater/ph-buffer.ts';
import { conductivityFromPracticalSalinity } from '#rules/seawater/practical-salinity.ts';
import { type ProbeDetail, type ProbeView, probeApi, type StandardsView } from '../api/probes.ts';
import type { KeptCalibration } from '../flow/calibration/calibrations.ts';
import { steadinessOf, steadyLookMs } from '../flow/calibration/steadiness.ts';
import type { BoundProbe } from '../flow/pipeline/bound-probe.ts';
import { tellingName } from '../model/config/probe-name.ts';
import type { ProbeConfig } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { shownUnit } from '../model/settings/shown-unit.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { wireUnit } from './routes-calibrations.ts';

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
      id,
      name: tellingName(config, system, id) ?? null,
      system,
      systemName: systemNames.get(system) ?? system,
      metric,
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

  server.get('/api/probes', { schema: probeApi['GET /api/probes'] }, () => {
    const nowMs = parts.clock.nowMs();
    const newest = calibrations.newest();
    return config.probes.map((probe) => probeView(probe, newest.get(probe.id), nowMs));
  });

  server.get('/api/probes/:id', { schema: probeApi['GET /api/probes/:id'] }, (request): ProbeDetail => {
    const { id } = request.params;
    const configured = config.probes.find((each) => each.id === id);
    if (configured === undefined) throw new Refused('unknown_probe', `there is no probe "${id}"`);
    const nowMs = parts.clock.nowMs();
    const probe = calibrations.probe(id);
    const lately = store.readings(probe.series, nowMs - steadyLookMs, nowMs + 1);
    return {
      ...probeView(configured, calibrations.newest().get(id), nowMs),
      way: wayOf(probe),
      wire:
        probe.lastWire === undefined
          ? null
          : { value: probe.lastWire.value, unit: wireUnit(probe), time: probe.lastWire.timeMs },
      signal: probe.electrode?.signal ?? null,
      compensation: probe.derivation?.compensation_percent_per_C ?? null,
      steadiness: steadinessOf(probe.series.metric, lately, nowMs),
    };
  });

  server.get(
    '/api/calibration-standards',
    { schema: probeApi['GET /api/calibration-standards'] },
    ({ query: { temperature_C, salinity } }) => standardsAt(temperature_C, salinity),
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
