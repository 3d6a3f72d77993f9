import { PassThrough, Readable } from 'node:stream';
import { Command } from 'commander';
import { csvTables } from '#adapters/csv/tables.ts';
import { addCalcVerb } from '#hub/cli/calc-verb.ts';
import { Refused } from '#hub/model/refusals/refused.ts';

/** What `brinekeep calc` prints, complains and exits with, for these words and this standard input. */
export async function runCalc(
  words: readonly string[],
  input = '',
): Promise<{ out: string; complaints: string; code: number }> {
  const output = new PassThrough();
  let out = '';
  let complaints = '';
  output.on('data', (chunk: Buffer) => {
    out += chunk.toString();
  });
  const program = new Command()
    .exitOverride()
    .configureOutput({ writeOut: () => undefined, writeErr: () => undefined });
  const calc = addCalcVerb(program, csvTables, {
    input: Readable.from([Buffer.from(input)]),
    output,
    print: (line) => void output.write(`${line}\n`),
    complain: (line) => {
      complaints += `${line}\n`;
    },
  });
  for (const command of calc.commands) command.exitOverride();
  const codeBefore = process.exitCode;
  process.exitCode = undefined;
  try {
    await program.parseAsync(['calc', ...words], { from: 'user' });
    return { out, complaints, code: Number(process.exitCode ?? 0) };
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    return { out, complaints: complaints + error.message, code: error.exitCode };
  } finally {
    process.exitCode = codeBefore;
  }
}
