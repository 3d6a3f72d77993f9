import { spawn } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { ruleKinds } from '#rules/bands/kinds/list.ts';
import { verbHere } from '../hub/cli/verb-here.ts';
import { freePort } from '../servers/free-port.ts';
import { configOf, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { patience } from '../servers/server-process.ts';
import { type PtyPair, startPtyPair } from '../servers/socat.ts';
import { type CommandsOnPath, putCommandsOnPath } from './brinekeep-on-path.ts';
import { commandLines, docPages, firstBlock, insidePages, markers, repository, shellBlocks } from './doc-blocks.ts';

const blocks = docPages().flatMap(shellBlocks);
const toRun = blocks.filter(({ marker }) => marker === undefined);
const commandsOf = (text: string) => commandLines(text).join('\n');
const toCheck = blocks.filter(({ marker }) => marker !== undefined);

type Ran = { code: number | null; out: string; err: string };

describe('what a keeper copies from the pages', () => {
  const scratch = scratchRoom();
  const { dir } = scratch;
  const ran = new Map<string, Ran>();
  let hub: Hub;
  let commands: CommandsOnPath;
  let serial: PtyPair;

  beforeAll(async () => {
    const [page, broker] = [await freePort(), await freePort()];
    serial = await startPtyPair();
    // The smallest configuration of the first hour, on ports of its own and with a board that is plugged in.
    const config = `${firstBlock('deploy/docs/first-hour.md', 'yaml').replace(/path: \S+,/, `path: ${serial.a},`)}
data_dir: ${join(dir, 'data')}
keep_readings_days: 36500
weekly: {dir: ${join(dir, 'weekly')}}
http: {port: ${page}}
broker: {port: ${broker}}
`;
    writeFileSync(join(dir, 'brinekeep.yaml'), config);
    writeFileSync(join(dir, 'changed.yaml'), config.replace('high: 26.5', 'high: 26.0'));
    writeInventedFiles(dir);
    const history = join(dir, 'last-month.csv');
    const taken = await verbHere(['import', '--config', join(dir, 'brinekeep.yaml'), '--as', 'readings', history]);
    expect({ code: taken.code, err: taken.err }).toEqual({ code: 0, err: '' });
    commands = await putCommandsOnPath(dir, broker);
    hub = await startHubHere(configOf(config));
    // What stands on two pages is run once.
    const waiting = [...new Set(toRun.map(({ text }) => commandsOf(text)))];
    for (const text of waiting) ran.set(text, await runBlock(text.replaceAll(':8740', `:${page}`), dir));
  }, 180_000 * patience());
  afterAll(async () => {
    await commands?.stop();
    await hub?.stop();
    await serial?.stop();
    scratch.remove();
  });

  test('the pages hold no commands, and so this test none', () => {
    expect(toRun.length).toBeGreaterThan(8);
    expect(toCheck.length).toBeGreaterThan(4);
  });

  test.each(toRun)('the commands at $at fail, or print something else than the page says', ({ text, shown }) => {
    const { code, out, err } = ran.get(commandsOf(text)) ?? { code: -1, out: '', err: 'was not run' };
    expect({ code, err: code === 0 ? '' : `${out}${err}` }).toEqual({ code: 0, err: '' });
    if (shown !== undefined) expect(out.replaceAll('\r\n', '\n').trim()).toMatch(patternOf(shown));
  });

  test(
    'the program as it is started by hand does not print what the verb prints here',
    async () => {
      const text = 'brinekeep-itself check brinekeep.yaml';
      expect(await runBlock(text, dir)).toEqual(ran.get('brinekeep check brinekeep.yaml'));
    },
    120_000 * patience(),
  );

  test('a block is left out for a reason that is none', () => {
    for (const { at, marker } of toCheck)
      expect({ at, marker: `${marker}` }).toEqual({ at, marker: expect.toBeOneOf([...markers]) });
  });

  test(
    'a block that is not run names a verb, a flag, a script or a file that is not there',
    async () => {
      for (const { at, text } of toCheck) {
        for (const line of commandLines(text)) {
          expect({ at, line, wrong: await wrongIn(line) }).toEqual({ at, line, wrong: [] });
        }
      }
    },
    60_000 * patience(),
  );

  test('the check of verbs and files would pass anything', async () => {
    expect(await wrongIn('brinekeep no-such-verb')).toEqual(['no verb no-such-verb']);
    expect(await wrongIn('sudo brinekeep calibrate ph 7,25,0mV --probe x --no-such-flag y')).toEqual([
      'no flag --no-such-flag',
    ]);
    expect(await wrongIn('deploy/no-such.sh && npm run no-such')).toEqual([
      'no file deploy/no-such.sh',
      'no script no-such',
    ]);
    expect(await wrongIn('brinekeep batch make --litres 40')).toEqual([]);
  });
});

describe('the pages themselves', () => {
  test('a link or a picture leads nowhere', () => {
    const wrong: string[] = [];
    for (const page of [...docPages(), ...insidePages()]) {
      const whole = readFileSync(join(repository, page), 'utf8');
      for (const [, target = ''] of whole.matchAll(/\]\(([^)\s]+)\)/g)) {
        if (/^[a-z]+:/.test(target)) continue;
        const [file = '', anchor] = target.split('#');
        const path = file === '' ? join(repository, page) : join(repository, dirname(page), file);
        if (!existsSync(path)) wrong.push(`${page}: ${target}`);
        else if (anchor !== undefined && !anchorsIn(path).includes(anchor)) wrong.push(`${page}: ${target}`);
      }
    }
    expect(wrong).toEqual([]);
  });

  test('the tour, or a page beside the sources, names a file that is not there', () => {
    const wrong = insidePages().flatMap((page) =>
      [
        ...readFileSync(join(repository, page), 'utf8').matchAll(
          /`((?:adapters|deploy|fixtures|hub|rules|tests)\/[\w./-]+)`/g,
        ),
      ]
        .map(([, path = '']) => path)
        .filter((path) => !existsSync(join(repository, path)))
        .map((path) => `${page}: ${path}`),
    );
    expect(wrong).toEqual([]);
  });

  test('an alarm rings that no page explains, or one is explained that never rings', () => {
    const headings = [...readFileSync(join(repository, 'deploy/docs/alarms.md'), 'utf8').matchAll(/^## (\S+)$/gm)];
    expect(headings.map(([, kind]) => kind).sort()).toEqual([...ruleKinds, 'edge_fault'].sort());
  });

  test('an entry about an alarm does not say what to do first', () => {
    const entries = readFileSync(join(repository, 'deploy/docs/alarms.md'), 'utf8').split(/^## /m).slice(1);
    expect(entries.filter((entry) => !entry.includes('**First:**'))).toEqual([]);
    expect(entries).toHaveLength(ruleKinds.length + 1);
  });

  test('a page for keepers is longer than a page', () => {
    const written = ['http', 'mqtt', 'configuration', 'influxdb', 'metrics', 'constants'].map(
      (name) => `deploy/docs/${name}.md`,
    );
    for (const page of docPages().filter((each) => each.startsWith('deploy/docs/') && !written.includes(each))) {
      const lines = readFileSync(join(repository, page), 'utf8').split('\n').length;
      expect({ page, lines: Math.min(lines, 100) }).toEqual({ page, lines });
    }
  });
});

function runBlock(text: string, dir: string): Promise<Ran> {
  return new Promise((resolve, reject) => {
    const child = spawn('bash', ['-e', '-o', 'pipefail', '-c', text], {
      cwd: dir,
      env: { ...process.env, PATH: `${join(dir, 'bin')}:${process.env['PATH']}` },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const ran: Ran = { code: null, out: '', err: '' };
    child.stdout.on('data', (chunk: Buffer) => (ran.out += chunk.toString('utf8')));
    child.stderr.on('data', (chunk: Buffer) => (ran.err += chunk.toString('utf8')));
    child.once('error', reject);
    child.once('close', (code) => resolve({ ...ran, code }));
  });
}

/** `…` stands for whatever comes there. */
function patternOf(shown: string): RegExp {
  const parts = shown.trim().split('…');
  const escaped = parts.map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
  return new RegExp(`^${escaped.join('[\\s\\S]+')}$`);
}

/** Invented: an hour of readings, and tests and doses of some days. */
function writeInventedFiles(dir: string): void {
  const put = (name: string, lines: string[]) => writeFileSync(join(dir, name), `${lines.join('\n')}\n`);
  const at = (minute: number) => new Date(Date.UTC(2026, 0, 5, 8, minute)).toISOString();
  put('last-month.csv', [
    'time,system,metric,value',
    ...Array.from(
      { length: 60 },
      (_, minute) => `${at(minute)},display,temperature,${(25.4 + minute / 60).toFixed(2)}`,
    ),
  ]);
  const day = (number: number) => `2026-10-0${number}T09:00:00Z`;
  put('tests.csv', [
    'time,system,analyte,value,unit,sd',
    ...[1, 3, 5, 7].map((number) => `${day(number)},display,alkalinity,${8.4 - number / 20},dKH,0.1`),
  ]);
  put('doses.csv', ['time,system,substance,grams', `${day(2)},display,sodium_bicarbonate,12`]);
}

/** What a command names and is not there. */
async function wrongIn(line: string): Promise<string[]> {
  const wrong: string[] = [];
  for (const [, part = ''] of line.matchAll(/(?:^|\s)brinekeep((?: [^|&;>]*)?)(?=[|&;>]|$)/g))
    wrong.push(...(await wrongInVerb(part)));
  for (const word of line.split(/\s+/)) {
    if (/^(deploy|fixtures|tests|hub|adapters|rules)\/[\w./-]+$/.test(word) && !existsSync(join(repository, word)))
      wrong.push(`no file ${word}`);
  }
  const { scripts } = JSON.parse(readFileSync(join(repository, 'package.json'), 'utf8')) as {
    scripts: Record<string, string>;
  };
  for (const [, name = ''] of line.matchAll(/npm run ([\w-]+)/g))
    if (scripts[name] === undefined) wrong.push(`no script ${name}`);
  return wrong;
}

async function wrongInVerb(text: string): Promise<string[]> {
  const words = text.trim().split(/\s+/).filter(Boolean);
  const verbs: string[] = [];
  let help = (await verbHere(['--help'])).out;
  for (const word of words) {
    if (!help.includes('\nCommands:') || word.startsWith('-')) break;
    if (!new RegExp(`^ {2}${word}\\b`, 'm').test(help.split('\nCommands:')[1] ?? ''))
      return [`no verb ${[...verbs, word].join(' ')}`];
    verbs.push(word);
    help = (await verbHere([...verbs, '--help'])).out;
  }
  const flags = words.filter((word) => word.startsWith('--')).map((word) => word.split('=')[0] ?? '');
  return flags.filter((flag) => !new RegExp(`(^|[ ,])${flag}\\b`, 'm').test(help)).map((flag) => `no flag ${flag}`);
}

/** Anchors as the usual viewers of Markdown make them of headings. */
function anchorsIn(path: string): string[] {
  const headings = readFileSync(path, 'utf8').matchAll(/^#+ (.+)$/gm);
  return [...headings].map(([, heading = '']) =>
    heading
      .toLowerCase()
      .replace(/[^\p{L}\p{N}_ -]/gu, '')
      .replaceAll(' ', '-'),
  );
}
