import * as z from 'zod';
import { bathWaterSchema, doneSchema, runStartSchema } from '../model/entries/arrival-schemas.ts';
import { bathCheckSchema, bathCheckView, runSchema, runView } from './arrival-view.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const tags = ['arrivals'];
const arrivalId = z.object({ id: z.string().min(1).max(40) });
const runId = z.object({ run: z.string().min(1).max(60) });
const nothing = z.strictObject({});

/** Protocols at work: steps, timers, baths. */
export function addRunRoutes(server: TypedServer, { clock, reception }: HttpParts): void {
  const { runs } = reception;
  const now = () => clock.nowMs();

  server.post(
    '/api/arrivals/:id/runs',
    {
      schema: {
        summary: 'Start a protocol',
        tags,
        params: arrivalId,
        body: runStartSchema,
        response: { 201: runSchema },
      },
    },
    (request, reply) => {
      const run = reception.day.start(request.params.id, request.body, now());
      void reply.code(201);
      return runView(reception, run, now());
    },
  );

  server.get(
    '/api/runs/:run',
    {
      schema: {
        summary: 'The step at hand with its bath, timer and cautions',
        tags,
        params: runId,
        response: { 200: runSchema },
      },
    },
    (request) => runView(reception, runs.run(request.params.run), now()),
  );

  server.post(
    '/api/runs/:run/timer',
    {
      schema: {
        summary: 'Start the timer of the step at hand',
        tags,
        params: runId,
        body: nothing,
        response: { 200: runSchema },
      },
    },
    (request) => runView(reception, runs.startTimer(request.params.run, now()), now()),
  );

  server.post(
    '/api/runs/:run/done',
    {
      schema: {
        summary: 'The step at hand is done; before its minutes are over only with `early`',
        tags,
        params: runId,
        body: doneSchema,
        response: { 200: runSchema },
      },
    },
    (request) => {
      const run = runs.stepDone(request.params.run, request.body, now());
      return runView(reception, run, now());
    },
  );

  server.post(
    '/api/runs/:run/undo',
    {
      schema: {
        summary: 'The last step was marked done by a slip; its timer goes on by the same clock',
        tags,
        params: runId,
        body: nothing,
        response: { 200: runSchema },
      },
    },
    (request) => runView(reception, runs.undoStep(request.params.run, now()), now()),
  );

  server.post(
    '/api/runs/:run/bath-water',
    {
      schema: {
        summary: 'What was measured in the bath and the bags',
        tags,
        params: runId,
        body: bathWaterSchema,
        response: { 200: bathCheckSchema },
      },
    },
    (request) => bathCheckView(runs.measureBath(request.params.run, request.body, now())),
  );

  server.delete(
    '/api/runs/:run',
    {
      schema: {
        summary: 'Give up a protocol; refused while its pieces soak',
        tags,
        params: runId,
        response: { 204: z.null() },
      },
    },
    (request, reply) => {
      runs.remove(request.params.run, now());
      void reply.code(204);
      return null;
    },
  );
}
