import { setImmediate as outputTold } from 'node:timers/promises';
import { runCommandLine } from './cli/command-line.ts';
import { outputTrouble } from './cli/disk-trouble.ts';
import { exitCode } from './cli/exit-code.ts';
import { processTerminal } from './cli/terminal.ts';
import { adaptersForVerbs } from './compose.ts';

// A hub goes on to watch when nobody reads its words any more, and a verb has its copies to remove.
let lost: unknown;
process.stdout.on('error', (error) => {
  lost ??= error;
});
let code = await runCommandLine(process.argv.slice(2), adaptersForVerbs, processTerminal);
await outputTold();
if (lost !== undefined && code === exitCode.done) {
  code = exitCode.dataSayNo;
  const trouble = outputTrouble(lost);
  if (trouble !== undefined) processTerminal.complain(trouble);
}
process.exitCode = code;
// What a start that failed has opened by then does not keep the process.
if (code !== 0) setTimeout(() => process.exit(code), 1_000).unref();
