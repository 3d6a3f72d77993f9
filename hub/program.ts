import { runCommandLine } from './cli/command-line.ts';
import { processTerminal } from './cli/terminal.ts';
import { adaptersForVerbs } from './compose.ts';

process.exitCode = await runCommandLine(process.argv.slice(2), adaptersForVerbs, processTerminal);
