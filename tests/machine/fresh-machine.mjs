// The README's two commands in a fresh clone, on a machine whose own Node is another, with an empty npm cache and no compiler on
// the path; for each the seconds and the most memory of all that it started (PSS: what is shared counts once):
//
//     node tests/machine/fresh-machine.mjs NODE [demo|test]...     both unless one is named; NODE such as 20.20 or 26
//
// The npm is one of that Node's time. Linux, with git; what the tests miss there is skipped, as on any machine.
import { spawn, spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const [version, ...asked] = process.argv.slice(2);
const npms = { 20: '10', 22: '10', 24: '11', 26: '12' };
const npm = npms[version?.split('.')[0]];
if (npm === undefined) throw new Error(`which Node: one of ${Object.keys(npms).join(', ')}, or such as 22.14`);
const commands = {
  demo: { line: 'npm ci && npm run demo', until: /Page: +(http\S+)/ },
  test: { line: 'npm ci && npm test', until: undefined },
};
const sources = fileURLToPath(new URL('../..', import.meta.url));
const scratch = mkdtempSync(join(tmpdir(), 'brinekeep-fresh-'));
// A test starts the hub as another user, who must be able to read it.
chmodSync(scratch, 0o755);

function must(command, args, options = {}) {
  const ran = spawnSync(command, args, { encoding: 'utf8', ...options });
  if (ran.status !== 0) throw new Error(`${command} ${args.join(' ')}: ${ran.error ?? ran.stderr}`);
  return ran.stdout.trim();
}

/** One folder with all programs of this machine but its Nodes, compilers and make. */
function pathWithoutCompilers(node) {
  const folder = join(scratch, 'bin');
  mkdirSync(folder);
  const unwanted = /^(node|npm|npx|corepack|g?make|c\+\+|cc|c[89]9|cpp|ld|as|.*(g\+\+|gcc|clang|cpp).*)$/;
  for (const from of (process.env.PATH ?? '').split(':').filter((each) => !each.includes('node_modules')))
    for (const name of readdirIfThere(from))
      if (!unwanted.test(name) && !readdirIfThere(folder).includes(name))
        symlinkSync(join(from, name), join(folder, name));
  symlinkSync(node, join(folder, 'node'));
  for (const name of ['npm', 'npx']) symlinkSync(join(scratch, 'node/node_modules/.bin', name), join(folder, name));
  return folder;
}

function readdirIfThere(folder) {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}

/** Memory of a process and all that it started, MB: its session, and what was started from there and left it. */
function memoryMB(leader) {
  const processes = new Map();
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name)))
    try {
      const [, parent, , session] = readFileSync(`/proc/${pid}/stat`, 'latin1')
        .replace(/^.*\) /s, '')
        .split(' ');
      processes.set(pid, { parent, session });
    } catch {
      // It has ended.
    }
  const isOurs = (pid) => {
    const { parent, session } = processes.get(pid) ?? {};
    return session === leader || (parent !== undefined && parent !== '0' && isOurs(parent));
  };
  let kB = 0;
  for (const pid of processes.keys())
    try {
      if (isOurs(pid)) kB += Number(/^Pss: +(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8'))?.[1] ?? 0);
    } catch {
      // It has ended.
    }
  return kB / 1000;
}

function runToEnd(line, until, folder, env) {
  return new Promise((resolve, reject) => {
    const beganMs = performance.now();
    let mostMB = 0;
    let said = '';
    let readyMs;
    const child = spawn('sh', ['-c', line], { cwd: folder, env, detached: true, stdio: ['ignore', 'pipe', 'pipe'] });
    const watch = setInterval(() => {
      mostMB = Math.max(mostMB, memoryMB(String(child.pid)));
    }, 500);
    const hear = async (chunk) => {
      said = (said + chunk).slice(-20_000);
      if (until === undefined) process.stdout.write(chunk);
      const page = until?.exec(said)?.[1];
      if (page === undefined || readyMs !== undefined) return;
      readyMs = performance.now();
      const answer = await fetch(page).catch((error) => error);
      if (answer.ok !== true) said += `\nthe page does not answer: ${answer.status ?? answer}`;
      readyMs = answer.ok === true ? performance.now() : Number.NaN;
      process.kill(-child.pid, 'SIGINT');
    };
    for (const stream of [child.stdout, child.stderr]) stream.setEncoding('utf8').on('data', hear);
    child.once('error', reject);
    child.once('close', (code) => {
      clearInterval(watch);
      const isWell = until === undefined ? code === 0 : Number.isFinite(readyMs);
      if (!isWell) process.stdout.write(`${said}\n`);
      const s = ((Number.isFinite(readyMs) ? readyMs : performance.now()) - beganMs) / 1000;
      resolve({ isWell, s, mostMB });
    });
  });
}

try {
  const binary = `node-linux-${process.arch}`;
  must('npm', [
    'install',
    '--silent',
    '--no-save',
    '--prefix',
    join(scratch, 'node'),
    `${binary}@${version}`,
    `npm@${npm}`,
  ]);
  const path = pathWithoutCompilers(join(scratch, 'node/node_modules', binary, 'bin/node'));
  const inherited = Object.entries(process.env).filter(
    ([name]) => !/^(npm_(?!config_registry)|CI$|NODE(_OPTIONS)?$)/i.test(name),
  );
  for (const name of asked.length > 0 ? asked : Object.keys(commands)) {
    const { line, until } = commands[name];
    const folder = join(scratch, name);
    must('git', ['clone', '--quiet', sources, folder]);
    const env = { ...Object.fromEntries(inherited), PATH: path, npm_config_cache: join(scratch, `cache-${name}`) };
    const of = (program) => must(program, ['--version'], { env });
    const where = `Node ${of('node')}, npm ${of('npm')}, ${must('git', ['-C', folder, 'log', '-1', '--format=%h'])}`;
    const { isWell, s, mostMB } = await runToEnd(line, until, folder, env);
    const what = until === undefined ? '' : ' to the page';
    process.stdout.write(
      `${where}: ${line}: ${isWell ? 'well' : 'FAILED'}, ${s.toFixed(0)} s${what}, ${mostMB.toFixed(0)} MB\n`,
    );
    if (!isWell) process.exitCode = 1;
    rmSync(folder, { recursive: true, force: true });
  }
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
