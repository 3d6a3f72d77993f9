import { execFileSync, spawn } from 'node:child_process';
import { chmodSync, cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const repository = fileURLToPath(new URL('../..', import.meta.url));

export type Ran = { code: number | null; out: string };

export type ScratchMachine = {
  root: string;
  config: string;
  store: string;
  /** A release that runs `program` as its main.js; `healthy` is what stands in the place of a hub. */
  addRelease(id: string, program: string): string;
  use(release: string): void;
  /** A script of deploy/ on this machine, with the hub as a process of the test. */
  run(script: string, args: readonly string[], env?: Record<string, string>): Promise<Ran>;
  service(what: 'start' | 'stop'): void;
  remove(): void;
};

let scripts: string | undefined;

/** The programs that the scripts call, built as a release has them; once for a test process. */
function builtScripts(): string {
  if (scripts === undefined) {
    scripts = mkdtempSync(join(tmpdir(), 'brinekeep-scripts-'));
    const bundle = ['hub/bundle.mjs', '--out', scripts, 'deploy/ask-health.mjs', 'deploy/store-facts.mjs'];
    execFileSync(process.execPath, bundle, { cwd: repository });
  }
  return join(scripts, 'deploy');
}

/**
 * A folder that stands for the machine's root: the scripts put it before each of their paths. The service manager is a
 * small runner that starts what the unit's ExecStart names, and starts it again when it ends, as systemd does.
 */
export function scratchMachine(httpPort: number): ScratchMachine {
  const root = mkdtempSync(join(tmpdir(), 'brinekeep-machine-'));
  const opt = join(root, 'opt/brinekeep');
  const data = join(root, 'var/lib/brinekeep');
  const config = join(root, 'etc/brinekeep/brinekeep.yaml');
  for (const folder of [join(opt, 'releases'), join(data, 'backups'), join(root, 'etc/brinekeep')])
    mkdirSync(folder, { recursive: true });
  // JSON is YAML too, and the stand-in reads it without a parser.
  writeFileSync(config, JSON.stringify({ data_dir: data, http: { port: httpPort }, needs: 1 }));
  const runner = join(root, 'runner.sh');
  writeFileSync(
    runner,
    `#!/bin/bash
group=${root}/group
case $1 in
  stop)
    [ -f $group ] || exit 0
    kill -- "-$(cat $group)" 2>/dev/null
    while kill -0 -- "-$(cat $group)" 2>/dev/null; do sleep 0.02; done
    rm -f $group ;;
  start)
    setsid bash -c 'echo $$ > ${root}/group
      while true; do ${opt}/current/bin/node ${opt}/current/dist/hub/main.js run ${config}; sleep 0.2; done
    ' > ${root}/service.log 2>&1 < /dev/null &
    while [ ! -s $group ]; do sleep 0.02; done ;;
esac
`,
  );
  chmodSync(runner, 0o755);
  const env = { ...process.env, BRINEKEEP_ROOT: root, BRINEKEEP_SERVICE: runner, BRINEKEEP_SETTLE_SECONDS: '0.5' };

  return {
    root,
    config,
    store: join(data, 'brinekeep.db'),
    addRelease(id, program) {
      const release = join(opt, 'releases', id);
      mkdirSync(join(release, 'bin'), { recursive: true });
      mkdirSync(join(release, 'dist/hub'), { recursive: true });
      cpSync(join(repository, 'deploy'), join(release, 'deploy'), {
        recursive: true,
        filter: (path) => !path.includes('/deploy/docs'),
      });
      cpSync(builtScripts(), join(release, 'dist/deploy'), { recursive: true });
      symlinkSync(process.execPath, join(release, 'bin/node'));
      symlinkSync(join(repository, 'node_modules'), join(release, 'node_modules'));
      writeFileSync(join(release, 'package.json'), '{"name": "brinekeep", "type": "module"}\n');
      writeFileSync(join(release, 'dist/hub/main.js'), program);
      return release;
    },
    use(release) {
      rmSync(join(opt, 'current'), { force: true });
      symlinkSync(join('releases', release.split('/').at(-1) ?? ''), join(opt, 'current'));
    },
    run(script, args, more = {}) {
      return new Promise((resolve, reject) => {
        const child = spawn('bash', ['-c', '"$0" "$@" 2>&1', join(repository, 'deploy', script), ...args], {
          env: { ...env, ...more },
          stdio: ['ignore', 'pipe', 'inherit'],
        });
        let out = '';
        child.stdout.setEncoding('utf8').on('data', (text: string) => {
          out += text;
        });
        child.once('error', reject);
        child.once('close', (code) => resolve({ code, out }));
      });
    },
    service: (what) => void execFileSync(runner, [what]),
    remove() {
      execFileSync(runner, ['stop']);
      rmSync(root, { recursive: true, force: true });
    },
  };
}

/**
 * `none`; `ends` at once; `sick`: answers 500; `falls`: answers well and then ends; `refuses` the configuration; `waits` for a
 * configuration that its own check accepts; `spoils`: runs into a configuration that was changed to a wrong one meanwhile.
 */
export type StandInFault = 'none' | 'ends' | 'sick' | 'falls' | 'refuses' | 'waits' | 'spoils';

/**
 * A stand-in for the hub with the verbs that the scripts call: a real store file with a schema version, a real HTTP answer. Like
 * the hub it refuses a configuration that `needs` more than it knows, and waits for another when it is run with one.
 *
 * @param schema  version that it brings the store to when it runs, and the most that it knows of configurations
 */
export function standInHub(id: string, schema: number, fault: StandInFault): string {
  return `
import { createServer } from 'node:http';
import { copyFileSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
const openStore = (path, options) => new (createRequire(import.meta.url)('better-sqlite3'))(path, options);
const [verb, ...rest] = process.argv.slice(2);
const configPath = verb === 'run' || verb === 'check' ? rest[0] : rest[rest.indexOf('--config') + 1];
if (verb === 'run' && ${fault === 'spoils'})
  writeFileSync(configPath, JSON.stringify({ ...JSON.parse(readFileSync(configPath, 'utf8')), needs: 99 }));
const config = JSON.parse(readFileSync(configPath, 'utf8'));
const store = config.data_dir + '/brinekeep.db';
const isRefused = ${fault === 'refuses'} || config.needs > ${schema};
const answer = (status, body) => createServer((request, response) => {
  response.statusCode = status;
  response.end(JSON.stringify(body));
  if (${fault === 'falls'}) setTimeout(() => process.exit(1), 50);
}).listen(config.http.port, '127.0.0.1');
if (verb === 'run' && (isRefused || ${fault === 'waits'})) {
  answer(503, { type: 'urn:brinekeep:problem:configuration', release: '${id}' });
} else if (verb !== 'run' && isRefused) {
  console.error('a configuration that ${id} does not know');
  process.exit(1);
} else if (verb === 'backup') {
  const db = openStore(store, { readonly: true });
  await db.backup(rest[0]);
  db.close();
} else if (verb === 'restore') {
  renameSync(store, store + '.replaced');
  copyFileSync(rest[0], store);
  console.log('restored; the former store is kept as ' + store + '.replaced');
} else if (verb === 'run') {
  const db = openStore(store);
  const found = db.pragma('user_version', { simple: true });
  if (found > ${schema}) { console.error('a newer schema'); process.exit(1); }
  db.exec('CREATE TABLE IF NOT EXISTS written (by TEXT)');
  db.prepare('INSERT INTO written VALUES (?)').run('${id}');
  db.pragma('user_version = ${schema}');
  db.close();
  if (${fault === 'ends'}) process.exit(1);
  answer(${fault === 'sick' ? 500 : 200}, { release: '${id}', started: new Date().toISOString() });
}
`;
}
