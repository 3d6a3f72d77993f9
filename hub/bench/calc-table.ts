import { Readable, Writable } from 'node:stream';
import type { Tables } from '#adapters/ports/tables.ts';
import type { Calculation } from '../reports/calc/calculation.ts';
import { salinityCalculation } from '../reports/calc/salinity.ts';
import { type BenchPart, type Measurement, rateOf, type Timing } from './measurement.ts';

/** What `calc` does with a table on standard input. */
export type AnswerTable = (
  calculationFor: (columns: readonly string[]) => Calculation,
  tables: Tables,
  terminal: { input: Readable; output: Writable; print(line: string): void; complain(line: string): void },
) => Promise<boolean>;

/** Water between 15 and 32 °C around salinity 35, a row each, without chance. */
function tableText(rows: number): string {
  const lines = ['conductivity_mS_cm,temperature_C'];
  for (let row = 0; row < rows; row += 1) {
    lines.push(`${(45 + (row % 1000) / 80).toFixed(4)},${(15 + (row % 170) / 10).toFixed(1)}`);
  }
  return `${lines.join('\n')}\n`;
}

function nowhere(): Writable {
  return new Writable({ write: (_chunk, _encoding, done) => done() });
}

/** `calc salinity --csv`, beside reading and writing the same table without computing. */
async function measureCalcTable(
  answerTable: AnswerTable,
  tables: Tables,
  clock: Timing,
  rows: number,
): Promise<Measurement[]> {
  const text = tableText(rows);
  const computed = await rateOf(clock, rows, () =>
    answerTable(() => salinityCalculation, tables, {
      input: Readable.from([Buffer.from(text)]),
      output: nowhere(),
      print: () => {},
      complain: () => {},
    }),
  );
  const copied = await rateOf(clock, rows, async () => {
    const output = nowhere();
    const table = await tables.read(Readable.from([Buffer.from(text)]));
    for await (const { cells } of table.rows) await tables.write(output, tables.line(Object.values(cells)));
  });
  return [
    {
      name: `calc salinity --csv, ${rows} rows`,
      figure: computed,
      unit: 'rows/s',
      ratio: computed / copied,
      beside: 'the same table read and written without computing',
    },
  ];
}

export function calcPart(answerTable: AnswerTable, tables: Tables, clock: Timing): BenchPart {
  return { name: 'calc', measure: (isQuick) => measureCalcTable(answerTable, tables, clock, isQuick ? 1000 : 100_000) };
}
