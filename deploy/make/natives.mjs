// Builds the native part of the database so that it asks the disk for its data alone:
//
//     node deploy/make/natives.mjs FOLDER [amd64 arm64]    into FOLDER; for this machine alone when none is named, and
//                                                          then without a compiler nothing
//
// As Debian builds its own SQLite (HAVE_FDATASYNC): a flush then waits for its few kilobytes and not for the file system's
// journal, which mounted with commit=60 is written once a minute. The binaries that better-sqlite3 brings call fsync. The
// same sources and defines, Node-API 10, so one file for every Node from 22.14 on. The same bytes from the same compiler.
import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { run } from './run.mjs';

const modules = fileURLToPath(new URL('../../node_modules', import.meta.url));
const library = join(modules, 'better-sqlite3');
const compilers = { amd64: 'x86_64-linux-gnu-', arm64: 'aarch64-linux-gnu-' };
/** Debian's names of the processors, and Node's. */
export const nodeNames = { amd64: 'x64', arm64: 'arm64' };

function definesOfLibrary() {
  const text = readFileSync(join(library, 'deps/defines.gypi'), 'utf8');
  return [...text.matchAll(/'([A-Z][A-Z0-9_]*(?:=-?\d+)?)'/g)].map(([, define]) => `-D${define}`);
}

function headersOfNode() {
  const found = Object.values(nodeNames)
    .map((name) => join(modules, `node-linux-${name}/include/node`))
    .find(existsSync);
  if (found === undefined)
    throw new Error('no node-linux-… in node_modules, whose headers are needed: npm ci on Linux');
  return found;
}

function compile(processor, target) {
  const prefix = compilers[processor];
  const work = mkdtempSync(join(tmpdir(), 'brinekeep-native-'));
  const common = [
    '-O3',
    '-DNDEBUG',
    '-DHAVE_FDATASYNC=1',
    ...definesOfLibrary(),
    '-fPIC',
    '-pthread',
    '-I',
    'deps/sqlite3',
  ];
  const at = (name) => join(work, name);
  const here = { cwd: library };
  try {
    run(`${prefix}gcc`, ['-std=c99', '-w', ...common, '-c', 'deps/sqlite3/sqlite3.c', '-o', at('sqlite3.o')], here);
    const api = ['NAPI_VERSION=10', 'NAPI_DISABLE_CPP_EXCEPTIONS', 'NODE_API_SWALLOW_UNTHROWABLE_EXCEPTIONS'];
    const language = ['-std=c++20', '-fvisibility=hidden', '-fno-exceptions', '-fno-rtti', '-w'];
    const more = [...api.map((define) => `-D${define}`), '-I', headersOfNode(), '-I', join(modules, 'node-addon-api')];
    run(`${prefix}g++`, [...language, ...common, ...more, '-c', 'src/better_sqlite3.cpp', '-o', at('addon.o')], here);
    const link = ['-shared', '-s', '-pthread', '-Wl,-Bsymbolic', '-Wl,--exclude-libs,ALL', '-Wl,--build-id=none'];
    run(`${prefix}g++`, [...link, 'addon.o', 'sqlite3.o', '-ldl', '-o', 'whole.node'], { cwd: work });
    cpSync(at('whole.node'), target);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** @returns true when the compiler for this processor is there */
export function canBuild(processor) {
  try {
    run(`${compilers[processor]}g++`, ['--version']);
    return true;
  } catch {
    return false;
  }
}

/** Puts FOLDER/linux-ARCH.node there: built, or as it was built before from the same sources by the same compiler. */
export function buildNative(processor, folder) {
  const key = createHash('sha256')
    .update(readFileSync(fileURLToPath(import.meta.url)))
    .update(readFileSync(join(library, 'package.json')))
    .update(run(`${compilers[processor]}g++`, ['--version']))
    .digest('hex');
  const kept = join(modules, '.cache', `brinekeep-${processor}-${key.slice(0, 16)}.node`);
  if (!existsSync(kept) || process.env['BRINEKEEP_REBUILD'] === '1') {
    mkdirSync(join(modules, '.cache'), { recursive: true });
    compile(processor, kept);
  }
  mkdirSync(folder, { recursive: true });
  cpSync(kept, join(folder, `linux-${nodeNames[processor]}.node`));
  // By it the hub knows what it runs on (hub/cli/run-verb.ts).
  writeFileSync(join(folder, 'fdatasync'), 'The native part of the database here asks the disk for its data alone.\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [folder, ...processors] = process.argv.slice(2);
  const here = Object.keys(nodeNames).find((name) => nodeNames[name] === process.arch);
  if (processors.length > 0) for (const processor of processors) buildNative(processor, resolve(folder));
  else if (process.platform === 'linux' && here !== undefined && canBuild(here)) buildNative(here, resolve(folder));
  else process.stderr.write('no compiler is here (g++): the database stays as npm brings it and calls fsync\n');
}
