import { readFileSync } from 'node:fs';

/** One row of a table in fixtures/reference, by column name. */
export type ReferenceRow = {
  /** Line of the file, 1 being the header. */
  line: number;
  text(column: string): string;
  /** @throws when the cell is empty or no finite number: a check against it would pass for the wrong reason */
  number(column: string): number;
  has(column: string): boolean;
};

/**
 * Reads a table of fixtures/reference: commas, one header row, no quoting.
 *
 * @param name  file name without `.csv`
 * @param rowCount  how many rows the table must have, so that a shortened file cannot pass
 */
export function referenceTable(name: string, rowCount: number): ReferenceRow[] {
  const file = readFileSync(new URL(`../../../fixtures/reference/${name}.csv`, import.meta.url), 'utf8');
  const [header, ...lines] = file.trimEnd().split('\n');
  const columns = (header ?? '').split(',');
  if (lines.length !== rowCount) throw new Error(`${name}.csv has ${lines.length} rows, expected ${rowCount}`);
  return lines.map((content, index) => {
    const cells = content.split(',');
    if (cells.length !== columns.length) throw new Error(`${name}.csv line ${index + 2} has ${cells.length} cells`);
    const text = (column: string): string => {
      const place = columns.indexOf(column);
      if (place < 0) throw new Error(`${name}.csv has no column ${column}`);
      return cells[place] ?? '';
    };
    return {
      line: index + 2,
      text,
      has: (column) => text(column) !== '',
      number: (column) => {
        const number = Number(text(column));
        if (text(column) === '' || !Number.isFinite(number))
          throw new Error(`${name}.csv line ${index + 2}: ${column}`);
        return number;
      },
    };
  });
}
