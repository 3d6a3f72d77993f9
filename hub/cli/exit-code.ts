/** 0 done, 1 the data say no, 2 wrong usage. */
export const exitCode = { done: 0, dataSayNo: 1, wrongUsage: 2 } as const;

/** Ends a verb with a message for the person and a code; never a stack trace. */
export class VerbFailed extends Error {
  override readonly name = 'VerbFailed';
  readonly code: 1 | 2;

  constructor(code: 1 | 2, message: string) {
    super(message);
    this.code = code;
  }
}
