import { Command, CommanderError } from 'commander';
import { Refused } from '../model/refusals/refused.ts';
import { version } from '../version.ts';
import { addAdviseVerb } from './advise-verb.ts';
import { addArrivalVerbs } from './arrival-verbs.ts';
import { addBackupVerbs } from './backup-verbs.ts';
import { addBatchVerbs } from './batch-verbs.ts';
import { addBenchVerb } from './bench-verb.ts';
import { addCalcVerb } from './calc-verb.ts';
import { addCalibrateVerb } from './calibrate-verb.ts';
import { addCheckVerb } from './check-verb.ts';
import { addDemandVerb } from './demand-verb.ts';
import { addDemoVerb } from './demo-verb.ts';
import { diskTrouble } from './disk-trouble.ts';
import { addEnterVerb } from './enter-verb.ts';
import { exitCode } from './exit-code.ts';
import { addExportVerb } from './export-verb.ts';
import { addImportVerb } from './import-verb.ts';
import { addKitVerbs } from './kit-verbs.ts';
import { addLaboratoryVerb } from './laboratory-verb.ts';
import { addLampVerbs } from './lamp-verbs.ts';
import { addLongTermVerbs } from './long-term-verbs.ts';
import { addPassphraseVerb } from './passphrase-verb.ts';
import { addPhoneVerbs } from './phone-verbs.ts';
import { addPieceVerbs } from './piece-verbs.ts';
import { addReplayVerb } from './replay-verb.ts';
import { addRunVerb } from './run-verb.ts';
import { addSetupVerb } from './setup-verb.ts';
import type { Terminal } from './terminal.ts';
import { addTitrateVerb } from './titrate-verb.ts';
import { addTokenVerbs } from './token-verbs.ts';
import type { VerbAdapters } from './verb-adapters.ts';

/** All verbs. Wrong usage exits 2, data that say no exit 1, and neither with a stack trace. */
export async function runCommandLine(
  args: readonly string[],
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<number> {
  const program = new Command('brinekeep')
    .description('Monitoring hub for a room of reef aquariums')
    .version(version)
    .exitOverride()
    .configureOutput({
      writeOut: (text) => void terminal.output.write(text),
      writeErr: (text) => terminal.complain(text.trimEnd()),
    });
  program.option('--list-ports', 'list the serial ports of this machine, with the stable path of each');
  addRunVerb(program, adapters, terminal);
  addSetupVerb(program, adapters, terminal);
  addDemoVerb(program, adapters, terminal);
  addCheckVerb(program, terminal);
  addCalcVerb(program, adapters.tables, terminal);
  addDemandVerb(program, adapters, terminal);
  addAdviseVerb(program, terminal);
  addReplayVerb(program, adapters, terminal);
  addExportVerb(program, adapters, terminal);
  addEnterVerb(program, terminal);
  addCalibrateVerb(program, terminal);
  addTitrateVerb(program, terminal);
  addKitVerbs(program, terminal);
  addArrivalVerbs(program, terminal);
  addBatchVerbs(program, terminal);
  addPieceVerbs(program, terminal);
  addLongTermVerbs(program, terminal);
  addLampVerbs(program, terminal);
  addLaboratoryVerb(program, adapters, terminal);
  addPassphraseVerb(program, terminal);
  addTokenVerbs(program, terminal);
  addPhoneVerbs(program, terminal);
  addBackupVerbs(program, adapters, terminal);
  addImportVerb(program, adapters, terminal);
  addBenchVerb(program, adapters, terminal);
  for (const command of everyCommand(program)) command.exitOverride();

  try {
    if (args[0] === '--list-ports') await adapters.listPorts(terminal.print);
    else await program.parseAsync(args, { from: 'user' });
    // A verb that went on although some rows said no has left its code.
    return Number(process.exitCode ?? exitCode.done);
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? exitCode.done : exitCode.wrongUsage;
    if (error instanceof Refused) {
      terminal.complain(error.message);
      return error.exitCode;
    }
    if (error instanceof Error && 'code' in error && error.code === 'EPIPE') return exitCode.dataSayNo;
    const trouble = diskTrouble(error);
    if (trouble === undefined) throw error;
    terminal.complain(trouble);
    return exitCode.dataSayNo;
  }
}

function* everyCommand(command: Command): Generator<Command> {
  for (const each of command.commands) {
    yield each;
    yield* everyCommand(each);
  }
}
