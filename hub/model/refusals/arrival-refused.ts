import { OutOfRange } from '#rules/quantity/out-of-range.ts';

/** Why something about arrivals, pieces or batches was not taken. The list is closed: HTTP status and title follow from it. */
export type ArrivalProblem =
  | 'unknown_system'
  | 'unknown_arrival'
  | 'unknown_run'
  | 'unknown_protocol'
  | 'unknown_piece'
  | 'unknown_batch'
  | 'unknown_photo'
  | 'unknown_entry'
  | 'not_arrived'
  | 'no_light_plan'
  | 'not_known'
  | 'soak_runs'
  | 'not_now'
  | 'too_early'
  | 'too_many'
  | 'protocol_faulty'
  | 'out_of_range'
  | 'in_the_future'
  | 'not_a_photo'
  | 'not_stored';

/** With the words for the person who asked. */
export class ArrivalRefused extends Error {
  readonly problem: ArrivalProblem;

  constructor(problem: ArrivalProblem, message: string) {
    super(message);
    this.name = 'ArrivalRefused';
    this.problem = problem;
  }
}

/** A number that a rule refuses is the asker's, not a fault of ours: its words go to the person. */
export function orRefused<Result>(work: () => Result): Result {
  try {
    return work();
  } catch (error) {
    if (error instanceof OutOfRange) throw new ArrivalRefused('out_of_range', error.message);
    throw error;
  }
}

/** Two clocks never agree to the second; a day typed wrong is caught. */
const aheadMostMs = 5 * 60_000;

/** UTC ms of a time that was typed; now when none was. */
export function happenedMs(text: string | undefined, nowMs: number): number {
  const timeMs = text === undefined ? nowMs : Date.parse(text);
  if (timeMs > nowMs + aheadMostMs) throw new ArrivalRefused('in_the_future', `the time ${text} is still to come`);
  return timeMs;
}
