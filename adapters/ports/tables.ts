import type { Readable, Writable } from 'node:stream';

/** A row of a CSV table: its number in the file (the header is row 1) and its cells by column name. */
export type TableRow = {
  row: number;
  cells: Record<string, string>;
  /** Why no cell of this row can be trusted (more cells than columns); they are then all empty. */
  problem?: string;
};

export type Table = { columns: string[]; rows: AsyncIterable<TableRow> };

/** CSV with a header, RFC 4180, in and out. */
export type Tables = {
  /**
   * @param separator  one character between cells; a comma when left out
   * @throws TableUnreadable when there is no header or the quoting is broken
   */
  read(input: Readable, separator?: string): Promise<Table>;
  /** Cells of one record as a line with its line end; text that a spreadsheet would run as a formula is neutralised. */
  line(cells: readonly (string | number)[]): string;
  /** Resolves when the stream can take more. */
  write(output: Writable, line: string): Promise<void>;
};
