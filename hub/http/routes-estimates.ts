import type { FastifyReply } from 'fastify';
import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import { adviceApi } from '../api/advice.ts';
import type { DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addEstimateRoutes(server: TypedServer, parts: HttpParts, declined: DeclinedAdvice): void {
  /** Answers with the id of what `keep` has stored about the advice that stands. @throws Refused unknown_advice */
  function aboutAdvice(
    reply: FastifyReply,
    { system, analyte }: { system: string; analyte: AdviceAnalyte },
    keep: (advice: Advice) => number,
  ): { id: number } {
    const advice = parts.sources.advice(system).find((each) => each.analyte === analyte)?.advice;
    if (advice === undefined) throw new Refused('unknown_advice', `there is no advice on ${analyte} of "${system}"`);
    const id = keep(advice);
    parts.live.changed();
    void reply.code(201);
    return { id };
  }

  server.get('/api/advice/:system', { schema: adviceApi['GET /api/advice/:system'] }, (request) => {
    const { system } = request.params;
    if (!parts.config.systems.some(({ id }) => id === system)) throw noSystem(system, parts.config.systems);
    return parts.sources.advice(system);
  });

  server.post('/api/advice/decline', { schema: adviceApi['POST /api/advice/decline'] }, (request, reply) =>
    aboutAdvice(reply, request.body, (advice) => declined.decline(request.body, advice, parts.clock.nowMs())),
  );

  server.post('/api/advice/resume', { schema: adviceApi['POST /api/advice/resume'] }, (request, reply) =>
    aboutAdvice(reply, request.body, (advice) => declined.resume(request.body, advice, parts.clock.nowMs())),
  );

  server.get(
    '/api/estimates/:system/:analyte',
    { schema: adviceApi['GET /api/estimates/:system/:analyte'] },
    (request) => {
      const { system, analyte } = request.params;
      const explanation = parts.explain(system, analyte);
      if (explanation === undefined) throw noSystem(system, parts.config.systems);
      return explanation;
    },
  );

  server.get('/api/containers/:system', { schema: adviceApi['GET /api/containers/:system'] }, (request) =>
    parts.containers(request.params.system),
  );
}
