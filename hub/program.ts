import { runCommandLine } from './cli/command-line.ts';
import { processTerminal } from './cli/terminal.ts';
import { adaptersForVerbs } from './compose.ts';

const code = await runCommandLine(process.argv.slice(2), adaptersForVerbs, processTerminal);
process.exitCode = code;
// What a start that failed has opened by then does not keep the process.
if (code !== 0) setTimeout(() => process.exit(code), 1_000).unref();
