import type { FastifyReply } from 'fastify';
import * as z from 'zod';
import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import { declineReasons } from '../model/journal/reasons.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const adviceOn = {
  system: z.string().min(1).max(40).describe('id of the system'),
  analyte: z.enum([...demandAnalytes, 'salinity']),
  by: z.string().min(1).max(60).default('page'),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same entry'),
};

const declineSchema = z
  .strictObject({
    ...adviceOn,
    reason: z.enum(declineReasons),
    note: z.string().trim().min(1).max(500).optional(),
  })
  .refine(({ reason, note }) => reason !== 'other' || note !== undefined, 'another reason goes with a note');

export function addEstimateRoutes(server: TypedServer, parts: HttpParts, declined: DeclinedAdvice): void {
  /** Answers with the id of what `keep` has stored about the advice that stands, or says that none does. */
  function aboutAdvice(
    reply: FastifyReply,
    { system, analyte }: { system: string; analyte: AdviceAnalyte },
    keep: (advice: Advice) => number,
  ): { id: number } | FastifyReply {
    const advice = parts.sources.advice(system).find((each) => each.analyte === analyte)?.advice;
    if (advice === undefined) {
      return sendProblem(reply, {
        ...{ type: 'about:blank', title: 'No such advice', status: 404 },
        detail: `nothing is advised on ${analyte} of "${system}"`,
      });
    }
    const id = keep(advice);
    parts.live.changed();
    void reply.code(201);
    return { id };
  }

  server.post(
    '/api/advice/decline',
    {
      schema: {
        summary: 'Say why advice is not followed; it is folded away until it becomes other advice',
        tags: ['advice'],
        body: declineSchema,
      },
    },
    (request, reply) =>
      aboutAdvice(reply, request.body, (advice) => declined.decline(request.body, advice, parts.clock.nowMs())),
  );

  server.post(
    '/api/advice/resume',
    { schema: { summary: 'Show declined advice again', tags: ['advice'], body: z.strictObject(adviceOn) } },
    (request, reply) =>
      aboutAdvice(reply, request.body, (advice) => declined.resume(request.body, advice, parts.clock.nowMs())),
  );

  server.get(
    '/api/estimates/:system/:analyte',
    {
      schema: {
        summary: 'Level, demand and the week to come, with every test, its weight and the doses between in plain words',
        tags: ['advice'],
        params: z.object({ system: z.string(), analyte: z.enum(demandAnalytes) }),
      },
    },
    (request, reply) => {
      const { system, analyte } = request.params;
      const explanation = parts.explain(system, analyte);
      if (explanation !== undefined) return explanation;
      return sendProblem(reply, {
        type: 'about:blank',
        title: 'No such system',
        status: 404,
        detail: `no system "${system}"`,
      });
    },
  );

  server.get(
    '/api/containers/:system',
    {
      schema: {
        summary: 'How full the containers are and how many days they last',
        tags: ['advice'],
        params: z.object({ system: z.string() }),
      },
    },
    (request) => parts.containers(request.params.system),
  );
}
