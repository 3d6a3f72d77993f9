export type TableFault = 'no_header' | 'column_twice' | 'column_missing' | 'quote_open' | 'not_readable';

/** A CSV file as a whole cannot be read; a single bad row never causes it. */
export class TableUnreadable extends Error {
  readonly code = 'TABLE_UNREADABLE';
  readonly fault: TableFault;

  constructor(fault: TableFault, message: string) {
    super(message);
    this.name = 'TableUnreadable';
    this.fault = fault;
  }
}
