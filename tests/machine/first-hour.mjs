// The first hour, walked as the pages say, from an empty folder: the demo, then one's own board and phone. Each command is taken
// from the page that shows it, so a page that no longer shows it ends the walk. Prints the seconds to each thing that is seen.
//
//     node tests/machine/first-hour.mjs [--no-demo] [--checkout FOLDER] [--tarball FILE]
//
//   --no-demo    leaves the first look out
//   --checkout   a checkout with its libraries, instead of a fresh clone of this one's last commit and `npm ci`
//   --tarball    the npm tarball of a release, instead of one made of the checkout; the making is not counted, a keeper has it
//
// Simulated: the board (an invented `t=25.4 ph=8.2` line on a pseudo-terminal, which is named by --port since no list of ports has
// it) and the phone (mosquitto_sub, coming in from the address that `phone add` shows). Changed: ports, so that the walk disturbs
// no hub of this machine; the Node is that of the checkout, since the tarball needs 22.14. Linux, with git, g++, socat, script
// (bsdutils) and the Mosquitto clients.
import { spawn, spawnSync } from 'node:child_process';
import {
  copyFileSync,
  createWriteStream,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
} from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const { values: flags } = parseArgs({
  options: {
    'no-demo': { type: 'boolean', default: false },
    checkout: { type: 'string' },
    tarball: { type: 'string' },
  },
});
const sources = fileURLToPath(new URL('../..', import.meta.url));
const scratch = mkdtempSync(join(tmpdir(), 'brinekeep-first-hour-'));
const room = join(scratch, 'room');
mkdirSync(room);
const checkout = flags.checkout ?? join(scratch, 'brinekeep');
const inherited = Object.entries(process.env).filter(([name]) => !/^(npm_(?!config_registry)|NODE)/i.test(name));
const env = {
  ...Object.fromEntries(inherited),
  PATH: `${join(scratch, 'npm', 'bin')}:${(process.env.PATH ?? '')
    .split(':')
    .filter((each) => !each.includes('node_modules'))
    .join(':')}`,
  npm_config_prefix: join(scratch, 'npm'),
};
const began = performance.now();
const children = new Set();
const figures = [];

/** What is shown to somebody who waits: how long after the beginning of the part, and of all. */
function seen(what, sinceMs) {
  const now = performance.now();
  figures.push([what, (now - sinceMs) / 1000]);
  process.stdout.write(
    `[${((now - began) / 1000).toFixed(0).padStart(5)} s] ${what}: ${((now - sinceMs) / 1000).toFixed(0)} s\n`,
  );
}

function page(name) {
  return readFileSync(join(sources, name), 'utf8');
}

/** A command of a fenced block of the page, as it stands there. @throws when the page shows none that begins so */
function shown(name, beginning) {
  const blocks = [...page(name).matchAll(/^```sh[^\n]*\n([\s\S]*?)^```$/gm)].map(([, text]) => text);
  const line = blocks.flatMap((text) => text.split('\n')).find((each) => each.startsWith(beginning));
  if (line === undefined) throw new Error(`${name} shows no command that begins with ${beginning}`);
  return line.replace(/\s+#.*$/, '');
}

/** The same for a command within a sentence. */
function inSentence(name, command) {
  if (!page(name).includes(`\`${command}\``)) throw new Error(`${name} does not name \`${command}\``);
  return command;
}

function freePort() {
  return new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

/** A command in a terminal of its own, to which a person types: answers by what is asked. */
function atTerminal(line, folder, answers = []) {
  const child = spawn('script', ['-qfec', line, '/dev/null'], { cwd: folder, env, stdio: 'pipe', detached: true });
  children.add(child);
  const run = { said: '', code: undefined, child };
  const left = [...answers];
  let read = 0;
  const hear = (chunk) => {
    run.said += chunk.replaceAll('\r', '');
    // Asked is what stands at the end without a line end.
    const asked = run.said.slice(read).split('\n').at(-1);
    const at = left.findIndex(([question]) => question.test(asked));
    if (at === -1) return;
    read = run.said.length;
    // Some questions come again and again, the others once.
    const [, answer, often] = left[at];
    if (often !== 'again') left.splice(at, 1);
    child.stdin.write(`${answer}\n`);
  };
  for (const stream of [child.stdout, child.stderr]) stream.setEncoding('utf8').on('data', hear);
  child.once('close', (code) => {
    run.code = code;
    children.delete(child);
  });
  return run;
}

async function until(what, ask, run, withinS = 900) {
  for (let waited = 0; waited < withinS * 10; waited += 1) {
    const found = await ask();
    if (found !== undefined && found !== false && found !== null) return found;
    if (run?.code !== undefined && run.code !== 0 && !(await ask()))
      throw new Error(`${what}: ended with ${run.code}\n${run.said}`);
    await pause(100);
  }
  throw new Error(`${what}: not within ${withinS} s\n${run?.said ?? ''}`);
}

async function ended(run, what) {
  await until(what, () => run.code !== undefined, undefined, 1800);
  if (run.code !== 0) throw new Error(`${what}: ended with ${run.code}\n${run.said}`);
  return run.said;
}

function end(child, signal = 'SIGINT') {
  try {
    process.kill(-child.pid, signal);
  } catch {
    // It has ended.
  }
}

/** What a general MQTT app does: subscribes with QoS 1 and keeps its session. */
function phoneApp(args) {
  const child = spawn('mosquitto_sub', args, { env, stdio: ['ignore', 'pipe', 'pipe'], detached: true });
  children.add(child);
  const app = { lines: [], said: '', child, code: undefined };
  child.stdout.setEncoding('utf8').on('data', (chunk) => app.lines.push(...chunk.split('\n').filter(Boolean)));
  child.stderr.setEncoding('utf8').on('data', (chunk) => (app.said += chunk));
  child.once('close', () => children.delete(child));
  return app;
}

async function pageAnswers(url) {
  const answer = await fetch(url).catch(() => undefined);
  return answer?.ok === true;
}

/** README: two commands. */
async function lookAtDemo() {
  const ports = { page: await freePort(), broker: await freePort() };
  const line = `${shown('README.md', 'npm ci && npm run demo')} -- --port ${ports.page} --mqtt-port ${ports.broker}`;
  const sinceMs = performance.now();
  const demo = atTerminal(flags.checkout === undefined ? line : line.replace('npm ci && ', ''), checkout);
  const url = await until('the demo names its page', () => /Page: +(http\S+)/.exec(demo.said)?.[1], demo, 1800);
  await until('the page of the demo answers', () => pageAnswers(url), demo);
  seen('the page of the demo', sinceMs);
  const app = phoneApp([
    ...inSentence('README.md', 'mosquitto_sub -t brinekeep/phone').split(' ').slice(1),
    '-p',
    String(ports.broker),
  ]);
  await until('the demo rings', () => app.lines.find((each) => /heater|Temperature/i.test(each)), demo);
  seen('the alarm of the demo on the phone topic', sinceMs);
  end(app.child);
  end(demo.child);
  await until('the demo ends', () => demo.code !== undefined);
}

/** A board that says two numbers every two seconds, and can be pulled out. */
function startBoard() {
  const [a, b] = [join(scratch, 'board'), join(scratch, 'board-far-end')];
  const socat = spawn('socat', [`pty,raw,echo=0,link=${a}`, `pty,raw,echo=0,link=${b}`], {
    detached: true,
    stdio: 'ignore',
  });
  children.add(socat);
  const board = { path: a, temperature: 25.4, pull: () => end(socat, 'SIGTERM') };
  return until('the board is there', () => spawnSync('test', ['-e', b]).status === 0).then(() => {
    const wire = createWriteStream(b);
    wire.on('error', () => undefined);
    const timer = setInterval(() => wire.write(`t=${board.temperature.toFixed(2)} ph=8.20\n`), 2000);
    timer.unref();
    return board;
  });
}

/** README, by the npm tarball: then `brinekeep` is on the path. */
async function install() {
  const node = `node-linux-${process.arch}`;
  mkdirSync(join(env.npm_config_prefix, 'bin'), { recursive: true });
  symlinkSync(join(checkout, 'node_modules', node, 'bin', 'node'), join(env.npm_config_prefix, 'bin', 'node'));
  const tarball = flags.tarball ?? (await makeTarball());
  copyFileSync(tarball, join(room, basename(tarball)));
  const sinceMs = performance.now();
  const line = inSentence('README.md', 'npm install -g ./brinekeep-VERSION.tgz');
  await ended(atTerminal(line.replace('brinekeep-VERSION.tgz', basename(tarball)), room), line);
  seen('the program, from its npm tarball', sinceMs);
}

async function makeTarball() {
  const processor = { x64: 'amd64', arm64: 'arm64' }[process.arch];
  const line = `npm run release -- --only npm --processors ${processor} --out ${join(scratch, 'out')}`;
  await ended(atTerminal(line, checkout), line);
  const made = readdirSync(join(scratch, 'out')).find((each) => each.endsWith('.tgz'));
  if (made === undefined) throw new Error(`${line}: made no tarball`);
  return join(scratch, 'out', made);
}

/** README, first-hour.md, phone.md. */
async function ownBoardAndPhone() {
  await install();
  const board = await startBoard();
  const ports = { page: await freePort(), broker: await freePort() };
  const sinceMs = performance.now();
  const setup = inSentence('README.md', 'brinekeep setup brinekeep.yaml');
  const said = await ended(
    atTerminal(`${setup} --port ${board.path} --http-port ${ports.page} --broker-port ${ports.broker}`, room, [
      // A keeper whose clock shows noon: in quiet hours medium lines wait for the morning.
      [/Time zone.*: $/, `Etc/GMT${gmtOfNoon()}`],
      [/litres.*: $/, '420'],
      [/: $/, '', 'again'],
    ]),
    'setup',
  );
  seen('a configuration with the probes of the board', sinceMs);
  const next = said
    .split('\n')
    .map((each) => each.trim())
    .filter((each) => each.startsWith('brinekeep '))
    .slice(-2);
  if (next.length !== 2) throw new Error(`setup ends without what to type next:\n${said}`);
  const isAsOnPages =
    next[0] === shown('deploy/docs/first-hour.md', 'brinekeep check') && page('README.md').includes(next[1]);
  if (!isAsOnPages) throw new Error(`setup and the pages go on differently: ${next.join('; ')}`);
  await ended(atTerminal(next[0], room), next[0]);
  const hub = atTerminal(next[1], room);
  const url = await until('the hub names its page', () => /Open (http\S+)/.exec(hub.said)?.[1], hub);
  await until('the page answers', () => pageAnswers(url), hub);
  seen('the page of the own hub', sinceMs);
  const temperature = async () => {
    const answer = await (await fetch(`${url}/api/room`)).json();
    return answer.systems[0]?.metrics.find(({ metric }) => metric === 'temperature')?.value ?? undefined;
  };
  await until('the first reading', temperature, hub);
  seen('the first reading', sinceMs);

  const test = shown('deploy/docs/first-hour.md', 'brinekeep enter test');
  const saved = await ended(atTerminal(test, room), test);
  if (!saved.includes('Saved: alkalinity 8.1 dKH')) throw new Error(`${test}: ${saved}`);

  const adding = atTerminal(shown('deploy/docs/phone.md', 'brinekeep phone add ana'), room, [
    [/Open the broker.*: $/, 'yes'],
  ]);
  const field = (name) => new RegExp(`^  ${name} +(\\S+)`, 'm').exec(adding.said)?.[1];
  await until('phone add waits', () => /Waiting for the phone/.test(adding.said), adding);
  seen('what the app of the phone asks for', sinceMs);
  const app = phoneApp([
    ...['-h', field('host'), '-p', field('port'), '-u', field('user'), '-P', field('password')],
    ...['-t', field('topic'), '-q', '1', '-i', 'phone-of-ana', '-c', '-k', '60'],
  ]);
  await until('a test line comes', () => app.lines[0], app, 120);
  seen('the first line on the phone', sinceMs);
  await ended(adding, 'phone add');
  if (!/The phone received/.test(adding.said))
    throw new Error(`phone add does not say that the phone has it: ${adding.said}`);

  await ended(
    atTerminal(`${shown('deploy/docs/phone.md', 'mosquitto_pub -q 1 -t brinekeep/command')} -p ${ports.broker}`, room),
    'all well?',
  );
  await until('the phone is answered', () => app.lines.length >= 2, app, 60);
  seen('an answer to "all well?"', sinceMs);

  // The probe in a cup of warm water, then the board without its plug.
  board.temperature = 29.5;
  const warmMs = performance.now();
  const hot = await until('the alarm of a warm probe', () => app.lines.find((each) => /29\.5/.test(each)), hub, 900);
  seen('the line of the warm probe, after the probe was warm', warmMs);
  process.stdout.write(`          ${hot}\n`);
  board.pull();
  const pulledMs = performance.now();
  const gone = await until(
    'the alarm of a board without its plug',
    () => app.lines.find((each) => /unplug|board|port/i.test(each)),
    hub,
    300,
  );
  seen('the line of the unplugged board, after it was pulled', pulledMs);
  process.stdout.write(`          ${gone}\n`);
  end(app.child);
  end(hub.child);
  await until('the hub ends', () => hub.code !== undefined);
}

/** As POSIX counts: Etc/GMT-3 is three hours ahead. */
function gmtOfNoon() {
  const ahead = 12 - new Date().getUTCHours();
  return ahead === 0 ? '' : ahead > 0 ? `-${ahead}` : `+${-ahead}`;
}

try {
  if (flags.checkout === undefined) spawnSync('git', ['clone', '--quiet', sources, checkout], { stdio: 'inherit' });
  if (!flags['no-demo']) await lookAtDemo();
  else if (flags.checkout === undefined) await ended(atTerminal('npm ci', checkout), 'npm ci');
  await ownBoardAndPhone();
  process.stdout.write(`well: ${figures.map(([what, s]) => `${what} ${s.toFixed(0)} s`).join('; ')}\n`);
} catch (error) {
  process.stdout.write(`FAILED: ${error instanceof Error ? error.message : error}\n`);
  process.exitCode = 1;
} finally {
  for (const child of children) end(child, 'SIGTERM');
  await pause(1000);
  rmSync(scratch, { recursive: true, force: true });
}
