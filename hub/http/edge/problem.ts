import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import type { Doubt, Problem } from '../../api/problem.ts';
import { type EntryDoubt, Questioned } from '../../model/refusals/questioned.ts';
import { Refused } from '../../model/refusals/refused.ts';

export function sendProblem(reply: FastifyReply, problem: Problem): FastifyReply {
  // Where an address cannot be read, this is sent past the hook that sets it for all other answers.
  return reply
    .header('x-content-type-options', 'nosniff')
    .code(problem.status)
    .type('application/problem+json')
    .send(problem);
}

export function problemOf(error: unknown): Problem {
  if (error instanceof Refused) {
    return {
      type: `urn:brinekeep:problem:${error.problem}`,
      title: error.title,
      status: error.status,
      detail: error.message,
      ...(error instanceof Questioned ? { doubt: doubtOf(error.doubt) } : {}),
    };
  }
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map((issue) => ({
      field: issue.instancePath.replace(/^\//, '').replaceAll('/', '.') || '(body)',
      need: issue.message ?? 'a valid value',
    }));
    return {
      type: 'urn:brinekeep:problem:invalid',
      title: 'The request is not valid',
      status: 400,
      detail: errors.map((each) => `${each.field}: ${each.need}`).join('; '),
      errors,
    };
  }
  const status = statusCodeOf(error);
  if (status < 500) {
    return { type: 'about:blank', title: 'The request is not valid', status, detail: (error as Error).message };
  }
  return {
    type: 'about:blank',
    title: 'The hub failed to answer',
    status,
    detail: 'This is a fault of the hub; its log says more.',
  };
}

/** Without the question, which is the detail. */
function doubtOf({ ask: _ask, ...doubt }: EntryDoubt): Doubt {
  return doubt;
}

function statusCodeOf(error: unknown): number {
  const status = error instanceof Error ? (error as FastifyError).statusCode : undefined;
  return status !== undefined && status >= 400 ? status : 500;
}

export function answerWithProblem(error: unknown, request: FastifyRequest, reply: FastifyReply): void {
  const problem = problemOf(error);
  // Who is refused is told why; what has a cause besides is for the log as well.
  const isTold = error instanceof Refused && error.cause === undefined;
  if (problem.status >= 500 && !isTold) request.log.error({ err: error }, 'a request failed');
  void sendProblem(reply, problem);
}
