import { setTimeout as pause } from 'node:timers/promises';
import type { Command } from 'commander';
import { renderUnicodeCompact } from 'uqr';
import type { AnswerOf } from '../api/contract.ts';
import { Refused } from '../model/refusals/refused.ts';
import { createQuestions, NoAnswer } from '../setup/questions.ts';
import { askRoute, type HubOptions, hubVerbs, show } from './ask-hub.ts';
import { outsideBrokerLines, placeLines, triedWords } from './phone-words.ts';
import type { Terminal } from './terminal.ts';

type AddOptions = HubOptions & { yes?: boolean; qrWithPassword?: boolean; wait: string };
type Result = AnswerOf<'POST /api/phones/:name/test'>['result'];

const lookEveryMs = 1000;

/** `brinekeep phone add|list|remove|close`: phones as users of the broker inside the running hub. */
export function addPhoneVerbs(program: Command, terminal: Terminal): void {
  const phone = program
    .command('phone')
    .description('phones that get the alarms and may answer: add, list, remove, close');
  const verb = hubVerbs(phone);

  verb('add', 'make a user for a phone at the broker of the running hub; its password is shown only once')
    .argument('<name>', 'name of the phone: letters, digits, . _ and -')
    .option('--yes', 'open the broker to the home network without asking')
    .option('--qr-with-password', 'the QR code holds the password too')
    .option(
      '--wait <minutes>',
      'how long to wait for the phone to subscribe, to send it a test line; 0: not at all',
      '10',
    )
    .action((name: string, options: AddOptions) => addPhone(name, options, terminal));

  verb('list', 'names, and which are connected').action(async (options: HubOptions) => {
    const now = await askRoute(options, terminal, 'GET /api/phones', {});
    show(options, terminal, now, ({ phones, broker, is_open }) => [
      ...(broker === 'outside' ? ['The broker is outside the hub: its users are there.'] : []),
      ...(broker === 'inside' && !is_open ? ['The broker is open to this machine only.'] : []),
      ...phones.map(
        (each) =>
          `${each.name}\t${each.is_subscribed ? 'listens' : each.is_connected ? 'connected, not subscribed' : 'not connected'}`,
      ),
      ...(broker === 'inside' && phones.length === 0 ? ['No phone yet. Add one: brinekeep phone add NAME'] : []),
    ]);
  });

  verb('remove', 'remove the user and end its connection')
    .argument('<name>')
    .action(async (name: string, options: HubOptions) => {
      const gone = await askRoute(options, terminal, 'DELETE /api/phones/:name', { params: { name } });
      show(options, terminal, gone, ({ is_closed }) => [
        `Phone ${name} removed.`,
        ...(is_closed ? ['It was the last user: the broker is closed to the network again.'] : []),
      ]);
    });

  verb('close', 'close the broker to the home network again; the phones stay in the list')
    .option('--even-boards', 'even if boards connect from the home network')
    .action(async (options: HubOptions & { evenBoards?: boolean }) => {
      const body = { even_boards: options.evenBoards === true };
      await askRoute(options, terminal, 'POST /api/phones/close', { body }).catch((error: unknown) => {
        if (error instanceof Refused && error.message.startsWith('Boards come in'))
          throw new Refused(
            'not_done',
            `${error.message}. To close it all the same: brinekeep phone close --even-boards`,
          );
        throw error;
      });
      terminal.print('The broker is open to this machine only.');
    });
}

async function addPhone(name: string, options: AddOptions, terminal: Terminal): Promise<void> {
  const minutes = Number(options.wait);
  if (!(minutes >= 0)) throw new Refused('wrong_usage', `--wait: found "${options.wait}", need minutes`);
  const now = await askRoute(options, terminal, 'GET /api/phones', {});
  if (now.broker === 'outside') {
    show(options, terminal, now, () => outsideBrokerLines(name, now));
    if (options.json !== true) printQr(`mqtt${now.tls ? 's' : ''}://${name}@${now.hosts[0]}:${now.port}`, terminal);
    return;
  }
  const open = now.is_open || options.yes === true || (await mayOpen(now, terminal));
  // The configuration is read again for each question, and its warnings are told by now.
  const quiet: Terminal = { ...terminal, complain: () => {} };
  const added = await askRoute(options, quiet, 'POST /api/phones', { body: { name, open, by: 'command line' } });
  if (options.json === true) {
    terminal.print(JSON.stringify(added, undefined, 2));
    return;
  }
  const address = options.qrWithPassword === true ? added.address_with_password : added.address;
  for (const line of [...placeLines(added), '']) terminal.print(line);
  printQr(address, terminal);
  for (const { is, line, text } of added.changed)
    terminal.complain(`${options.config}:${line} ${is === 'in' ? '+' : '-'} ${text}`);
  for (const warning of added.warnings) terminal.complain(`warning: ${warning}`);
  if (added.trouble !== null) throw new Refused('not_done', `the broker cannot listen: ${added.trouble}`);
  if (minutes > 0) await waitForPhone(name, minutes * 60_000, options, { terminal, quiet });
}

async function mayOpen({ port }: { port: number }, terminal: Terminal): Promise<true> {
  const isUnattended = (terminal.input as { isTTY?: boolean }).isTTY !== true;
  const questions = createQuestions(terminal, isUnattended);
  try {
    const text = `Open the broker to the home network, port ${port}? No one gets in from there without a user and a password`;
    if (!isUnattended && (await questions.confirm(text, false))) return true;
  } catch (error) {
    if (!(error instanceof NoAnswer)) throw error;
  } finally {
    questions.end();
  }
  throw new Refused(
    'not_done',
    'nothing was changed: a phone reaches the broker only once it is open to the home network (--yes opens it)',
  );
}

/** Light on dark whatever the colours of the terminal are: many a camera reads no other. */
function printQr(address: string, terminal: Terminal): void {
  const isTerminal = (terminal.output as { isTTY?: boolean }).isTTY === true;
  const [start, end] = isTerminal ? ['\u001b[97;40m', '\u001b[0m'] : ['', ''];
  for (const line of renderUnicodeCompact(address, { border: 2 }).split('\n'))
    terminal.output.write(`${start}${line}${end}\n`);
  terminal.print(address);
}

/** Waits until the phone has a line, or for so long. */
async function waitForPhone(
  name: string,
  forMs: number,
  options: HubOptions,
  { terminal, quiet }: { terminal: Terminal; quiet: Terminal },
): Promise<void> {
  terminal.print(`Waiting for the phone to subscribe. Ctrl+C stops waiting; ${name} stays a user.`);
  let told: Result | undefined;
  for (let waitedMs = 0; waitedMs <= forMs; waitedMs += lookEveryMs) {
    const { result } = await askRoute(options, quiet, 'POST /api/phones/:name/test', { params: { name } });
    if (result !== told && (result !== 'not_connected' || told !== undefined)) terminal.print(triedWords[result]);
    if (result === 'received' || result === 'without_acknowledgement') return;
    told = result;
    await pause(lookEveryMs);
  }
  throw new Refused('not_done', `${name} has not received a line. ${triedWords[told ?? 'not_connected']}`);
}
