import { brokenBy, type Row } from './fault.ts';

export type Result = {
  fault: string;
  title: string;
  amount: string;
  seconds: number;
  rows: Row[];
  /** Why it did not run to its end. */
  failed?: string;
};

const heads = ['fault', 'caused', 'at stake', 'of', 'lost', 'may lose', 'doubled', 'recovered in s', 'kept'] as const;

/** The matrix as aligned plain text, then what was broken and what else was counted. */
export function matrixText(results: readonly Result[]): string {
  const cells: string[][] = [[...heads]];
  const below: string[] = [];
  for (const { fault, title, amount, seconds, rows, failed } of results) {
    for (const row of rows) {
      cells.push([
        fault,
        String(row.caused),
        String(row.stake),
        row.of,
        String(row.lost),
        String(row.lostAtMost ?? 0),
        String(row.doubled),
        recoveryText(row.recoveryMs),
        brokenBy(row).length === 0 ? 'yes' : 'NO',
      ]);
    }
    if (failed !== undefined) cells.push([fault, '-', '-', title, '-', '-', '-', '-', 'NO']);
    below.push(`${fault}: ${title}; ${amount}, ${seconds.toFixed(0)} s in all.`);
    if (failed !== undefined) below.push(`  did not run to its end: ${failed}`);
    for (const row of rows) {
      if (row.remark !== undefined) below.push(`  ${row.of}: ${row.remark}`);
      for (const broken of brokenBy(row)) below.push(`  BROKEN, ${row.of}: ${broken}`);
    }
  }
  const widths = heads.map((_, column) => Math.max(...cells.map((line) => line[column]?.length ?? 0)));
  const isNumber = (column: number) => column !== 0 && column !== 3 && column !== 8;
  const lines = cells.map((line) =>
    line
      .map((cell, column) => (isNumber(column) ? cell.padStart(widths[column] ?? 0) : cell.padEnd(widths[column] ?? 0)))
      .join('  ')
      .trimEnd(),
  );
  return `${[...lines, '', ...below].join('\n')}\n`;
}

/** The middle one and the slowest. */
function recoveryText(recoveryMs: readonly number[]): string {
  if (recoveryMs.length === 0) return '-';
  const inOrder = recoveryMs.toSorted((a, b) => a - b);
  const [middle, slowest] = [inOrder[Math.floor((inOrder.length - 1) / 2)]!, inOrder.at(-1)!].map((ms) =>
    (ms / 1000).toFixed(1),
  );
  return inOrder.length === 1 ? `${slowest}` : `${middle}, at most ${slowest}`;
}

export function isAllKept(results: readonly Result[]): boolean {
  return results.every(({ rows, failed }) => failed === undefined && rows.every((row) => brokenBy(row).length === 0));
}
