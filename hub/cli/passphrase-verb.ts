import type { Command } from 'commander';
import { Refused } from '../model/refusals/refused.ts';
import { accessFileOf, readAccessFile, writeAccessFile } from '../outside/access/access-file.ts';
import { complaintAboutPassphrase } from '../outside/access/passphrase.ts';
import { hashSecret } from '../outside/access/secret-hash.ts';
import { askHidden } from './hidden-line.ts';
import { defaultConfigPath, readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';

/** `brinekeep passphrase [CONFIG]`: sets the passphrase of the page. A hub that runs takes it at once. */
export function addPassphraseVerb(program: Command, terminal: Terminal): void {
  program
    .command('passphrase')
    .description('set the passphrase of the page; whoever is signed in has to sign in again')
    .argument('[config]', 'the YAML file', defaultConfigPath)
    .option('--stdin', 'read it from standard input, its first line')
    .option('--print-hash', "print its hash and save nothing: for the password_file of a broker's user")
    .action(async (path: string, options: { stdin?: boolean; printHash?: boolean }) => {
      const config = options.printHash === true ? undefined : readConfig(path, terminal);
      const passphrase = options.stdin === true ? await firstLine(terminal) : await typedTwice(terminal);
      const complaint = complaintAboutPassphrase(passphrase);
      if (complaint !== undefined) throw new Refused('not_done', `this passphrase will not do: ${complaint}`);
      const hash = await hashSecret(passphrase);
      if (config === undefined) {
        terminal.print(hash);
        return;
      }
      const file = accessFileOf(config);
      const { tokens } = orComplain(() => readAccessFile(file));
      writeAccessFile(file, { passphrase: { hash, set: new Date().toISOString() }, tokens });
      terminal.print(`The passphrase is set; ${file} holds its hash. The page asks for it from now on.`);
      terminal.print(`If the running hub is to listen beyond this machine, restart it.`);
    });
}

/** A broken file of hashes is told as what it is. */
export function orComplain<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw new Refused('not_done', (error as Error).message);
  }
}

async function typedTwice(terminal: Terminal): Promise<string> {
  const [first = '', second] = await askHidden(terminal, ['New passphrase: ', 'Once more: ']);
  if (first !== second) throw new Refused('not_done', 'the two do not match; nothing was changed');
  return first;
}

async function firstLine(terminal: Terminal): Promise<string> {
  const chunks: Buffer[] = [];
  for await (const chunk of terminal.input) chunks.push(Buffer.from(chunk as Buffer));
  return Buffer.concat(chunks).toString('utf8').split(/\r?\n/)[0] ?? '';
}
