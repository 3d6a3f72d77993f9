/** Why a calibration was not taken or not applied. The list is closed: the HTTP status follows from it. */
export type CalibrationProblem =
  | 'unknown_probe'
  | 'unknown_calibration'
  | 'not_for_this_metric'
  | 'out_of_range'
  | 'in_the_future'
  | 'raw_value_not_recoverable'
  | 'busy'
  | 'not_stored';

/** With the words for the person who asked. */
export class CalibrationRefused extends Error {
  readonly problem: CalibrationProblem;

  constructor(problem: CalibrationProblem, message: string) {
    super(message);
    this.name = 'CalibrationRefused';
    this.problem = problem;
  }
}
