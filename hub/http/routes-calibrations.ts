import { metricFacts } from '#rules/quantity/metric.ts';
import {
  type AppliedCalibration,
  type CalibrationsOfProbe,
  calibrationApi,
  type JudgedCalibration,
} from '../api/calibrations.ts';
import type { Applied } from '../flow/calibration/apply-to-history.ts';
import type { Answered, KeptCalibration } from '../flow/calibration/calibrations.ts';
import type { BoundProbe } from '../flow/pipeline/bound-probe.ts';
import { beginningMs, segmentsOf } from '../flow/pipeline/timeline.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const instantOf = (timeMs: number) => new Date(timeMs).toISOString();

export function addCalibrationRoutes(server: TypedServer, parts: HttpParts): void {
  const { calibrations, history } = parts.calibration;
  const now = () => parts.clock.nowMs();

  server.post('/api/calibrations', { schema: calibrationApi['POST /api/calibrations'] }, (request, reply) => {
    const isDryRun = request.query.dry_run === 'true';
    void reply.code(isDryRun ? 200 : 201);
    return answered(calibrations.enter(request.body, now(), isDryRun));
  });

  server.get('/api/calibrations', { schema: calibrationApi['GET /api/calibrations'] }, (request) => {
    const probe = calibrations.probe(request.query.probe);
    return ofProbe(probe, calibrations.of(probe));
  });

  server.post(
    '/api/calibrations/:id/apply-to-history',
    { schema: calibrationApi['POST /api/calibrations/:id/apply-to-history'] },
    async (request) => {
      const { from, to, by } = request.body;
      const span = { fromMs: Date.parse(from), toMs: Date.parse(to) };
      return applied(await history.apply(request.params.id, span, by, now()));
    },
  );
}

function answered(answer: Answered): JudgedCalibration {
  const { kind, verdict, correction } = answer.body;
  return {
    id: answer.id ?? null,
    probe: answer.probe.id,
    kind,
    time: instantOf(answer.timeMs),
    verdict,
    correction,
    in_force_from: instantOf(answer.inForceFromMs),
    history_behind: answer.isHistoryBehind,
  };
}

function ofProbe(probe: BoundProbe, kept: readonly KeptCalibration[]): CalibrationsOfProbe {
  const { lastWire } = probe;
  return {
    probe: probe.id,
    metric: probe.series.metric,
    wire:
      lastWire === undefined
        ? null
        : { value: lastWire.value, unit: wireUnit(probe), time: instantOf(lastWire.timeMs) },
    in_force: segmentsOf(probe.calibration).map(({ fromMs, calibration }) => ({
      from: fromMs === beginningMs ? null : instantOf(fromMs),
      calibration,
    })),
    calibrations: kept.map(({ entry, body }) => ({
      id: entry.id,
      time: instantOf(entry.timeMs),
      recorded: instantOf(entry.recordedMs),
      kind: body.kind,
      by: body.by,
      why: body.why,
      verdict: body.verdict,
      correction: body.correction,
    })),
  };
}

function applied({ order, readings, derived, note }: Applied): AppliedCalibration {
  return {
    calibration: order.calibration,
    probe: order.probe,
    readings,
    from: instantOf(order.fromMs),
    to: instantOf(order.toMs),
    salinity: derived.salinity,
    specific_gravity: derived.specificGravity,
    note: note ?? null,
  };
}

export function wireUnit(probe: BoundProbe): string {
  return probe.electrode?.signal === 'mV' ? 'mV' : metricFacts[probe.series.metric].unit;
}
