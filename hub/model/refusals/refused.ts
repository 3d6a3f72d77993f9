import { OutOfRange } from '#rules/quantity/out-of-range.ts';

/**
 * Why something was not taken. The list is closed: the status of an answer, its title and the exit code of a verb follow
 * from it, and from nothing else.
 */
const refusals = {
  unknown_system: [404, 1, 'No such system'],
  unknown_entry: [404, 1, 'No such entry'],
  unknown_alarm: [404, 1, 'No such alarm'],
  unknown_stock: [404, 1, 'No such stock'],
  unknown_probe: [404, 1, 'No such probe'],
  unknown_calibration: [404, 1, 'No such calibration'],
  unknown_arrival: [404, 1, 'No such arrival'],
  unknown_run: [404, 1, 'No such checklist'],
  unknown_protocol: [404, 1, 'No such protocol'],
  unknown_piece: [404, 1, 'No such piece'],
  unknown_pest: [404, 1, 'No such pest'],
  unknown_titration: [404, 1, 'No such titration'],
  unknown_kit: [404, 1, 'No such kit'],
  unknown_batch: [404, 1, 'No such batch'],
  unknown_photo: [404, 1, 'No such photo'],
  unknown_phone: [404, 1, 'No such phone'],
  unknown_series: [404, 1, 'No such series'],
  unknown_advice: [404, 1, 'No such advice'],
  unknown_week: [404, 1, 'No such week'],
  wrong_passphrase: [401, 1, 'Wrong passphrase'],
  too_many_tries: [429, 1, 'Too many tries'],
  unknown_hub: [404, 1, 'No such hub'],
  questioned: [409, 1, 'Is that what you meant?'],
  name_taken: [409, 1, 'Name already taken'],
  broker_closed: [409, 1, 'The broker is open to this machine only'],
  boards_would_lose: [409, 1, 'Boards connect that way'],
  not_arrived: [409, 1, 'Not here yet'],
  no_light_plan: [409, 1, 'No light plan'],
  not_known: [409, 1, 'Measure it first'],
  soak_runs: [409, 1, 'Pieces are in the dip bath'],
  not_now: [409, 1, 'Not at this step'],
  changed_meanwhile: [409, 1, 'Changed meanwhile'],
  too_early: [409, 1, 'Time is not up yet'],
  too_many: [409, 1, 'No room for more'],
  raw_value_not_recoverable: [409, 1, 'The readings cannot be corrected'],
  busy: [409, 1, 'Busy with another calibration'],
  no_database: [409, 1, 'No time-series database is set up'],
  no_reason: [422, 1, 'A reason is needed'],
  too_long: [422, 1, 'Too long'],
  unknown_substance: [422, 1, 'No such substance'],
  unknown_unit: [422, 1, 'Unknown unit for this'],
  not_for_this_metric: [422, 1, 'Not for what this probe measures'],
  protocol_faulty: [422, 1, 'Protocol not allowed'],
  out_of_range: [422, 1, 'Value out of range'],
  in_the_future: [422, 1, 'Time is in the future'],
  not_a_photo: [422, 1, 'Not a photo'],
  /** A case of a calculation that has no answer. */
  no_answer: [422, 1, 'No answer for these numbers'],
  still_learning: [503, 1, 'Still being learned'],
  database_busy: [503, 1, 'Too many curves at once'],
  database_away: [504, 1, 'The time-series database does not answer'],
  database_refused: [502, 1, 'The time-series database refuses'],
  database_unread: [502, 1, 'The database sent something that is not a curve'],
  not_stored: [507, 1, 'Could not be written to disk'],
  invalid: [400, 1, 'The request is not valid'],
  /** A verb of the command line that could not do what it was asked, and has said why. */
  not_done: [409, 1, 'Not done'],
  wrong_usage: [400, 2, 'Wrong usage'],
} as const satisfies Record<string, readonly [status: number, exit: 1 | 2, title: string]>;

export type Refusal = keyof typeof refusals;

/** Something that is refused, or asked about, with the words for the person who wanted it. */
export class Refused extends Error {
  override readonly name = 'Refused';
  readonly problem: Refusal;

  constructor(problem: Refusal, message: string, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.problem = problem;
  }

  get status(): number {
    return refusals[this.problem][0];
  }

  get exitCode(): 1 | 2 {
    return refusals[this.problem][1];
  }

  get title(): string {
    return refusals[this.problem][2];
  }
}

/** Runs what writes to the disk: when that fails, nothing is kept, and the person is told so. */
export function orNotStored<Result>(work: () => Result): Result {
  try {
    return work();
  } catch (error) {
    throw notStored(error);
  }
}

/** The refusal that a failed write to the disk is. */
export function notStored(error: unknown): Refused {
  const why = error instanceof Error ? error.message : String(error);
  return new Refused('not_stored', `it could not be written to disk and is not kept: ${why}`, error);
}

/** A number that a rule refuses is the asker's, not a fault of ours: its words go to the person. */
export function orRefused<Result>(work: () => Result): Result {
  try {
    return work();
  } catch (error) {
    if (error instanceof OutOfRange) throw new Refused('out_of_range', error.message);
    throw error;
  }
}
