import type { FastifyReply } from 'fastify';
import { type ArrivalProblem, ArrivalRefused } from '../model/refusals/arrival-refused.ts';
import { sendProblem } from './problem.ts';

const answerOf: Record<ArrivalProblem, readonly [status: number, title: string]> = {
  unknown_system: [404, 'No such system'],
  unknown_arrival: [404, 'No such arrival'],
  unknown_run: [404, 'No such checklist'],
  unknown_protocol: [404, 'No such protocol'],
  unknown_piece: [404, 'No such piece'],
  unknown_batch: [404, 'No such batch'],
  unknown_photo: [404, 'No such photo'],
  unknown_entry: [404, 'No such entry'],
  not_arrived: [409, 'Not here yet'],
  no_light_plan: [409, 'No light plan'],
  not_known: [409, 'Measure it first'],
  soak_runs: [409, 'Pieces are in the dip bath'],
  not_now: [409, 'Not at this step'],
  too_early: [409, 'Its time is not over'],
  too_many: [409, 'No room for more'],
  protocol_faulty: [422, 'Not a protocol that may be run'],
  out_of_range: [422, 'Value out of range'],
  in_the_future: [422, 'Time is still to come'],
  not_a_photo: [422, 'Not a photo'],
  not_stored: [507, 'Could not be written to disk'],
};

/** Answers a refusal as problem details (RFC 9457); anything else goes on. */
export async function orProblem<Answer>(reply: FastifyReply, work: () => Answer | Promise<Answer>): Promise<Answer> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof ArrivalRefused)) throw error;
    const [status, title] = answerOf[error.problem];
    const type = `urn:brinekeep:problem:${error.problem}`;
    return sendProblem(reply, { type, title, status, detail: error.message }) as never;
  }
}
