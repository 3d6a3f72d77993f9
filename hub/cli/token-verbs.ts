import type { Command } from 'commander';
import { type Scope, scopes } from '../model/access/scope.ts';
import { Refused } from '../model/refusals/refused.ts';
import { accessFileOf, readAccessFile, withToken, writeAccessFile } from '../outside/access/access-file.ts';
import { orComplain } from './passphrase-verb.ts';
import { defaultConfigPath, readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';

/** `brinekeep token add|list|revoke [CONFIG]`: what scripts and verbs show to the hub. A hub that runs knows it at once. */
export function addTokenVerbs(program: Command, terminal: Terminal): void {
  const token = program.command('token').description('tokens for scripts: make, list, revoke');
  const verb = (name: string, description: string) =>
    token.command(name).description(description).argument('[config]', 'the YAML file', defaultConfigPath);
  const fileOf = (path: string) => accessFileOf(readConfig(path, terminal));

  verb('add', 'make a token; it is shown only once')
    .requiredOption('--name <name>', 'what it is for')
    .requiredOption('--scope <scope>', 'read, enter (also log entries, acknowledge and silence alarms) or admin (all)')
    .action((path: string, { name, scope }: { name: string; scope: string }) => {
      if (!isScope(scope)) throw new Refused('wrong_usage', `--scope: found "${scope}", need ${scopes.join(', ')}`);
      const file = fileOf(path);
      const made = withToken(
        orComplain(() => readAccessFile(file)),
        name,
        scope,
        Date.now(),
      );
      if (!made.ok) throw new Refused('not_done', made.why);
      writeAccessFile(file, made.document);
      // Alone on standard output, so that it can be sent into a file.
      terminal.print(made.token);
      terminal.complain(`Token "${name}" (${scope}). It is not shown again: keep it like a password.`);
      if (made.document.passphrase === undefined) {
        terminal.complain('No passphrase is set yet, so on this machine the hub asks for no token.');
      }
    });

  verb('list', 'names, scopes and dates').action((path: string) => {
    const { tokens } = orComplain(() => readAccessFile(fileOf(path)));
    if (tokens.length === 0) terminal.complain('No tokens.');
    for (const { name, scope, made } of tokens) terminal.print(`${name}\t${scope}\t${made}`);
  });

  verb('revoke', 'revoke a token')
    .requiredOption('--name <name>', 'as it was added')
    .action((path: string, { name }: { name: string }) => {
      const file = fileOf(path);
      const document = orComplain(() => readAccessFile(file));
      const tokens = document.tokens.filter((each) => each.name !== name);
      if (tokens.length === document.tokens.length) throw new Refused('not_done', `there is no token "${name}"`);
      writeAccessFile(file, { ...document, tokens });
      terminal.print(`token "${name}" is revoked`);
    });
}

function isScope(text: string): text is Scope {
  return (scopes as readonly string[]).includes(text);
}
