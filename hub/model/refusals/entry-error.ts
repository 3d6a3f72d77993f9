/** Why an entry was not taken. The list is closed: the HTTP status and the problem type follow from it. */
export type EntryProblem =
  | 'unknown_system'
  | 'unknown_entry'
  | 'unknown_stock'
  | 'unknown_substance'
  | 'unknown_unit'
  | 'out_of_range'
  | 'in_the_future'
  | 'questioned'
  | 'not_stored';

/** An entry that is refused, or asked about, with the words for the person who made it. */
export class EntryRefused extends Error {
  readonly problem: EntryProblem;

  constructor(problem: EntryProblem, message: string) {
    super(message);
    this.name = 'EntryRefused';
    this.problem = problem;
  }
}
