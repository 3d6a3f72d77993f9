import * as z from 'zod';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { Applied } from '../flow/calibration/apply-to-history.ts';
import type { Answered, KeptCalibration } from '../flow/calibration/calibrations.ts';
import { calibrationEntrySchema } from '../flow/calibration/schemas.ts';
import type { BoundProbe } from '../flow/pipeline/bound-probe.ts';
import { beginningMs, segmentsOf } from '../flow/pipeline/timeline.ts';
import { correctionSchema, verdictSchema } from '../model/journal/calibration-schema.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const instant = z.iso.datetime({ offset: true });

const answeredSchema = z.object({
  id: z.number().nullable().describe('null for a dry run: nothing was kept'),
  probe: z.string(),
  kind: z.enum(['linear', 'cell', 'ph']),
  time: z.string(),
  verdict: verdictSchema,
  correction: correctionSchema,
  in_force_from: z.string().describe('the first time of a reading that it corrects by itself'),
  history_behind: z.boolean().describe('readings after its date are stored already: apply-to-history corrects them'),
});

const keptSchema = z.object({
  id: z.number(),
  time: z.string(),
  recorded: z.string(),
  kind: z.enum(['linear', 'cell', 'ph']),
  by: z.string(),
  why: z.string(),
  verdict: verdictSchema,
  correction: correctionSchema,
});

const ofProbeSchema = z.object({
  probe: z.string(),
  metric: z.string(),
  wire: z
    .object({ value: z.number(), unit: z.string(), time: z.string() })
    .nullable()
    .describe('what the probe sent last, before any correction: to calibrate against'),
  in_force: z
    .array(z.object({ from: z.string().nullable(), calibration: z.number().nullable() }))
    .describe('which calibration corrected the stored readings, by their time; null for the configuration'),
  calibrations: z.array(keptSchema),
});

/** The calibrations of a probe, oldest first. */
export type CalibrationsView = z.infer<typeof ofProbeSchema>;

const appliedSchema = z.object({
  calibration: z.number(),
  probe: z.string(),
  from: z.string(),
  to: z.string(),
  readings: z.number().describe('how many have another value or flag now'),
  salinity: z.number(),
  specific_gravity: z.number(),
  note: z.number().nullable().describe('the journal entry that says what was done; null when there was nothing to do'),
});

const instantOf = (timeMs: number) => new Date(timeMs).toISOString();

export function addCalibrationRoutes(server: TypedServer, parts: HttpParts): void {
  const { calibrations, history } = parts.calibration;
  const now = () => parts.clock.nowMs();

  server.post(
    '/api/calibrations',
    {
      schema: {
        summary: 'Calibrate a probe; with dry_run=true only the verdict is given and nothing is kept',
        tags: ['calibrations'],
        querystring: z.object({ dry_run: z.enum(['true', 'false']).default('false') }),
        body: calibrationEntrySchema,
        response: { 200: answeredSchema, 201: answeredSchema },
      },
    },
    (request, reply) => {
      const isDryRun = request.query.dry_run === 'true';
      void reply.code(isDryRun ? 200 : 201);
      return answered(calibrations.enter(request.body, now(), isDryRun));
    },
  );

  server.get(
    '/api/calibrations',
    {
      schema: {
        summary: 'The calibrations of a probe, oldest first, and what it sends without them',
        tags: ['calibrations'],
        querystring: z.object({ probe: z.string().min(1).max(40) }),
        response: { 200: ofProbeSchema },
      },
    },
    (request) => {
      const probe = calibrations.probe(request.query.probe);
      return ofProbe(probe, calibrations.of(probe));
    },
  );

  server.post(
    '/api/calibrations/:id/apply-to-history',
    {
      schema: {
        summary: 'Correct the stored readings of the probe by this calibration, and what is derived from them',
        tags: ['calibrations'],
        params: z.object({ id: z.coerce.number().int().positive() }),
        body: z.strictObject({ from: instant, to: instant, by: z.string().min(1).max(60) }),
        response: { 200: appliedSchema },
      },
    },
    async (request) => {
      const { from, to, by } = request.body;
      const span = { fromMs: Date.parse(from), toMs: Date.parse(to) };
      return applied(await history.apply(request.params.id, span, by, now()));
    },
  );
}

function answered(answer: Answered): z.infer<typeof answeredSchema> {
  const { kind, verdict, correction } = answer.body;
  return {
    ...{ id: answer.id ?? null, probe: answer.probe.id, kind, time: instantOf(answer.timeMs), verdict, correction },
    in_force_from: instantOf(answer.inForceFromMs),
    history_behind: answer.isHistoryBehind,
  };
}

function ofProbe(probe: BoundProbe, kept: readonly KeptCalibration[]): CalibrationsView {
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
      ...{ id: entry.id, time: instantOf(entry.timeMs), recorded: instantOf(entry.recordedMs) },
      ...{ kind: body.kind, by: body.by, why: body.why, verdict: body.verdict, correction: body.correction },
    })),
  };
}

function applied({ order, readings, derived, note }: Applied): z.infer<typeof appliedSchema> {
  return {
    ...{ calibration: order.calibration, probe: order.probe, readings },
    from: instantOf(order.fromMs),
    to: instantOf(order.toMs),
    ...{ salinity: derived.salinity, specific_gravity: derived.specificGravity, note: note ?? null },
  };
}

export function wireUnit(probe: BoundProbe): string {
  return probe.electrode?.signal === 'mV' ? 'mV' : metricFacts[probe.series.metric].unit;
}
