import { accessSync, constants, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { type Command, InvalidArgumentError } from 'commander';
import { parse as parseYaml } from 'yaml';
import { loadConfig } from '../model/config/load.ts';
import type { Config } from '../model/config/schema.ts';
import { readSecret } from '../model/config/secrets.ts';
import { noSystemText } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import { withAddedProbes } from '../setup/added-probes.ts';
import { type Answers, answersSchema, problemsOfAnswers } from '../setup/answers.ts';
import { firstConfiguration } from '../setup/first-configuration.ts';
import { createQuestions, NoAnswer } from '../setup/questions.ts';
import { livestock } from '../setup/stock-bands.ts';
import { goodConfig } from './read-config.ts';
import { refuseUnreadable, userHere } from './readable-file.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type Options = {
  answers?: string;
  unattended?: boolean;
  add?: boolean;
  dataDir: string;
  secondsPerSpeed: number;
  brokerSeconds: number;
} & Record<string, unknown>;

const flags: readonly [flag: string, key: keyof Answers, help: string][] = [
  ['--site-name <name>', 'site_name', 'name of the place'],
  ['--timezone <zone>', 'timezone', 'IANA zone'],
  ['--system <id>', 'system', 'with --add: the system the probes belong to'],
  ['--system-name <name>', 'system_name', 'name of the tank'],
  ['--volume <litres>', 'volume_l', 'net water volume, without rock and sand'],
  ['--livestock <kind>', 'livestock', livestock.join(', ')],
  ['--port <path...>', 'ports', 'serial ports to listen on; all when left out'],
  ['--broker-url <url>', 'broker_url', "an outside MQTT broker; - for the hub's own"],
  ['--broker-username <name>', 'broker_username', 'user at the outside broker'],
  ['--broker-password-file <file>', 'broker_password_file', 'file with the password for the outside broker'],
  ['--broker-ca-file <file>', 'broker_ca_file', 'CA certificate of the outside broker, PEM'],
  ['--topics <beginning...>', 'broker_topics', 'topics of this tank at the outside broker, such as room/display'],
  ['--probes <which>', 'probes', 'take probes without asking: named, all, none'],
  ['--http-port <n>', 'http_port', 'port of the page'],
  ['--broker-port <n>', 'broker_port', "port of the hub's own broker"],
];

/** Flags come as text; these answers are numbers. */
const numberKeys = new Set<keyof Answers>(['volume_l', 'http_port', 'broker_port']);

function seconds(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value >= 0.1 && value <= 600)) throw new InvalidArgumentError('need 0.1 to 600 seconds');
  return value;
}

/** `brinekeep setup OUT.yaml`: looks, listens, asks, and writes a first configuration. With `--add` it adds probes to one that is there; else never over an existing file. */
export function addSetupVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  const command = program
    .command('setup')
    .description('look for probes on serial ports and on a broker, ask a few questions, write a first configuration')
    .argument('<file>', 'the configuration to write; only --add changes an existing file')
    .option('--add', 'add probes that an existing file does not have yet; its comments stay')
    .option('--answers <file>', 'answers as YAML, named like the flags with _ for -: volume_l, site_name, …')
    .option('--unattended', 'ask nothing: unanswered questions take their default, and named probes are used')
    .option('--data-dir <folder>', 'where the store will be', './data')
    .option('--seconds-per-speed <n>', 'how long to listen at each speed of a serial port', seconds, 6)
    .option('--broker-seconds <n>', 'how long to listen to an outside broker', seconds, 20);
  for (const [flag, , help] of flags) command.option(flag, help);
  /** The probes that are not in an existing file yet. */
  async function addTo(path: string, options: Options): Promise<void> {
    const isUnattended = options.unattended === true;
    const answers = answersFrom(options, isUnattended);
    const good = goodConfig(path, terminal);
    const { systems, mqtt } = good.config;
    // Before the listening and the questions: their answers would be lost.
    refuseUnwritable(path);
    if (answers.system !== undefined && !systems.some(({ id }) => id === answers.system))
      throw new Refused('wrong_usage', noSystemText(answers.system, systems));
    const questions = createQuestions(terminal, isUnattended);
    try {
      const times = { secondsForEachSpeed: options.secondsPerSpeed, brokerSeconds: options.brokerSeconds };
      const place = { environmentName: mqtt.password_env, file: mqtt.password_file };
      const secret = readSecret(place, process.env, (file) => readFileSync(file, 'utf8'));
      const password = secret.kind === 'value' ? secret.secret : undefined;
      const text = await withAddedProbes(
        { ...good, path, password },
        answers,
        times,
        adapters.firstLook,
        questions,
        terminal,
      );
      if (text === undefined) {
        terminal.print(`${path}: no probe was added`);
        return;
      }
      const { probes } = checked(path, text, terminal);
      // A running hub takes changes of its page into the same file, and the questions may have taken an hour.
      if (readFileSync(path, 'utf8') !== good.text)
        throw new Refused(
          'not_done',
          `${path}: it was changed in the meantime and is left as it is. Run again: brinekeep setup ${path} --add`,
        );
      // It may have to be written in its place: a power cut in the middle of that must leave the old text somewhere.
      await adapters.hub.writeFile(join(good.config.data_dir, 'before-setup.yaml'), good.text);
      writeTo(path, text);
      const count = probes.length - good.config.probes.length;
      terminal.print(`${path}: ${count} ${count === 1 ? 'probe' : 'probes'} added. Read it through, then:`);
      tellNext(path, terminal);
    } catch (error) {
      if (error instanceof NoAnswer) throw new Refused('wrong_usage', error.message);
      throw error;
    } finally {
      questions.end();
    }
  }

  function writeTo(path: string, text: string): void {
    try {
      adapters.hub.writeOver(path, text);
    } catch (error) {
      throw Object.assign(error as Error, { path });
    }
  }

  command.action(async (path: string, options: Options) => {
    if (options.add === true) return addTo(path, options);
    if (existsSync(path))
      throw new Refused(
        'not_done',
        `${path}: it exists and is left as it is. Name another file, or add probes to it: brinekeep setup ${path} --add`,
      );
    // Before the questions: their answers would be lost.
    if (!existsSync(dirname(path)))
      throw new Refused('wrong_usage', `${dirname(path)}: there is no such folder. Make it, or name another file.`);
    const isUnattended = options.unattended === true;
    const answers = answersFrom(options, isUnattended);
    const questions = createQuestions(terminal, isUnattended);
    try {
      const times = { secondsForEachSpeed: options.secondsPerSpeed, brokerSeconds: options.brokerSeconds };
      const dataDir = resolve(options.dataDir);
      const text = await firstConfiguration(answers, dataDir, times, adapters.firstLook, questions, terminal);
      write(path, text, terminal);
    } catch (error) {
      if (error instanceof NoAnswer) throw new Refused('wrong_usage', error.message);
      throw error;
    } finally {
      questions.end();
    }
  });
}

function answersFrom(options: Options, isUnattended: boolean): Answers {
  const byFlag: Record<string, unknown> = {};
  for (const [flag, key] of flags) {
    const given = options[optionName(flag)];
    if (given === undefined) continue;
    byFlag[key] = numberKeys.has(key) ? Number(given) : key === 'broker_url' && given === '-' ? '' : given;
  }
  const parsed = answersSchema.safeParse({
    ...(isUnattended ? { probes: 'named' } : {}),
    ...(options.answers === undefined ? {} : answersIn(options.answers)),
    ...byFlag,
  });
  if (!parsed.success) throw new Refused('wrong_usage', problemsOfAnswers(parsed.error).join('\n'));
  return parsed.data;
}

function answersIn(path: string): Record<string, unknown> {
  refuseUnreadable(path);
  let given: unknown;
  try {
    given = parseYaml(readFileSync(path, 'utf8'));
  } catch (error) {
    throw new Refused('wrong_usage', `${path}: ${(error as Error).message}`);
  }
  if (typeof given !== 'object' || given === null || Array.isArray(given))
    throw new Refused('wrong_usage', `${path}: need names with their answers, such as volume_l: 420`);
  return given as Record<string, unknown>;
}

/** As commander names it: `--broker-url <url>` is `brokerUrl`. */
function optionName(flag: string): string {
  return (flag.split(' ')[0] ?? '').slice(2).replace(/-(\w)/g, (_dash, letter: string) => letter.toUpperCase());
}

/** @throws Refused  for a text that the hub would not take, after its mistakes are told */
function checked(path: string, text: string, terminal: Terminal): Config {
  const loaded = loadConfig(text, path, process.env, (file) => readFileSync(file, 'utf8'));
  if (!loaded.ok) {
    // Ours, unless a password file cannot be read: said as `check` would.
    for (const problem of loaded.problems) terminal.complain(problem.text);
    throw new Refused('not_done', `${path}: nothing was written`);
  }
  for (const warning of loaded.warnings) terminal.complain(`warning: ${warning}`);
  return loaded.config;
}

/** @throws Refused  with what to type */
function refuseUnwritable(path: string): void {
  try {
    accessSync(path, constants.W_OK);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const why =
      code === 'EROFS'
        ? 'its disk is read-only'
        : `the user ${userHere()} may not write it. Put sudo before the command; on an installed machine: sudo chown root:brinekeep ${path} && sudo chmod 660 ${path}`;
    throw new Refused('not_done', `${path}: ${why}. Nothing was changed.`);
  }
}

/** Where the installer has the configuration, the service runs the hub. */
const installedConfig = '/etc/brinekeep/brinekeep.yaml';

function tellNext(path: string, terminal: Terminal): void {
  const isInstalled = resolve(path) === installedConfig;
  terminal.print(`  ${isInstalled ? 'sudo ' : ''}brinekeep check ${path}`);
  terminal.print(isInstalled ? '  sudo systemctl restart brinekeep' : `  brinekeep run ${path}`);
}

function write(path: string, text: string, terminal: Terminal): void {
  const { probes } = checked(path, text, terminal);
  // wx: a file that came to be meanwhile is not touched either.
  try {
    writeFileSync(path, text, { flag: 'wx', mode: 0o640 });
  } catch (error) {
    // Half a file would keep the next try from writing.
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') rmSync(path, { force: true });
    throw Object.assign(error as Error, { path });
  }
  terminal.print(
    `${path}: written, with ${probes.length} ${probes.length === 1 ? 'probe' : 'probes'}. Read it through, then:`,
  );
  tellNext(path, terminal);
}
