import { readFileSync } from 'node:fs';
import { PassThrough, Readable } from 'node:stream';
import { runCommandLine } from '#hub/cli/command-line.ts';
import type { Terminal } from '#hub/cli/terminal.ts';
import { adaptersForVerbs } from '#hub/compose.ts';

export type VerbEnded = { code: number; out: string; err: string };

/** A verb in this process with streams of its own: what `program.ts` does, without a second start of Node. */
export async function verbHere(args: readonly string[], input: string | Buffer = ''): Promise<VerbEnded> {
  const output = new PassThrough();
  let out = '';
  let err = '';
  output.on('data', (chunk: Buffer) => {
    out += chunk.toString('utf8');
  });
  const terminal: Terminal = {
    input: Readable.from([typeof input === 'string' ? Buffer.from(input) : input]),
    output,
    print: (line) => {
      out += `${line}\n`;
    },
    complain: (line) => {
      err += `${line}\n`;
    },
  };
  const before = process.exitCode;
  process.exitCode = undefined;
  try {
    const code = await runCommandLine(args, adaptersForVerbs, terminal);
    await new Promise((resolve) => setImmediate(resolve));
    return { code, out, err };
  } finally {
    // The code is of the verb, not of the test run.
    process.exitCode = before;
  }
}

/** Cells by line: for tables whose cells hold neither commas nor quotes. */
export function plainCells(text: string): string[][] {
  return text
    .trimEnd()
    .split(/\r?\n/)
    .map((line) => line.split(','));
}

export function referenceTable(name: string): string {
  return readFileSync(new URL(`../../../fixtures/reference/${name}.csv`, import.meta.url), 'utf8');
}
