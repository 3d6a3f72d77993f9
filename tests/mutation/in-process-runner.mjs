/**
 * A test runner for stryker that starts nothing: the tests of the rules are pure functions, so a mutant needs no new worker, no
 * new transform and no new import of the libraries, which is nearly all that it costs with vitest (0.9 s against some 30 ms).
 *
 * Each file of tests is bundled once with the rules that it imports, compiled once, and evaluated anew for every mutant, so that
 * nothing which a mutant left behind meets the next. `expect` is vitest's own; of `describe`, `it` and `test` it knows what the tests
 * of the rules use, and anything else is undefined here and fails the dry run. Quick files come first, so that a mutant that is
 * killed by both a table and a long property costs the table alone.
 *
 * `MUTATION_SHARE=0.1` tries a tenth of the mutants, each drawn by itself and always the same; the rest are counted as errors, which
 * stryker leaves out of the score. `MUTATION_RUNNER=vitest` runs the same mutants by vitest itself, to hold this runner against.
 */
import { createHash } from 'node:crypto';
import { readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import vm from 'node:vm';
import { build } from 'esbuild';
import fc from 'fast-check';

/** Every mutant meets the same cases: else the score changes from run to run, and a mutant is killed by luck. */
const caseSeed = 20_261_125;
/** Share of the mutants that are tried, 0 to 1. */
const share = Number(process.env['MUTATION_SHARE'] ?? 1);
const passed = 0;
const failed = 1;

/** vitest's assertions, without a worker of vitest around them. */
async function vitestExpect() {
  const ofVitest = createRequire(createRequire(import.meta.url).resolve('vitest/package.json'));
  const load = (name) => import(pathToFileURL(ofVitest.resolve(name)).href);
  const [chai, matchers] = await Promise.all([load('chai'), load('@vitest/expect')]);
  for (const plugin of ['JestExtend', 'JestChaiExpect', 'JestAsymmetricMatchers']) chai.use(matchers[plugin]);
  const expect = (value, message) => chai.expect(value, message);
  Object.assign(expect, chai.expect, globalThis[matchers.ASYMMETRIC_MATCHERS_OBJECT]);
  globalThis[matchers.GLOBAL_EXPECT] = expect;
  matchers.setState({ assertionCalls: 0, isExpectingAssertions: false, expectedAssertionsNumber: null }, expect);
  return expect;
}

/** `describe`, `it` and `test` that put the tests of one file into `found`, in their order. */
function collector(found, expect) {
  let path = [];
  const add = (name, run) => found.push({ name: [...path, name].join(' '), run });
  const within = (name, body) => {
    path = [...path, name];
    body();
    path = path.slice(0, -1);
  };
  const eachOf = (declare) => (rows) => (name, body) => {
    for (const [place, row] of rows.entries())
      declare(`${name} #${place}`, () => (Array.isArray(row) ? body(...row) : body(row)));
  };
  const nothing = () => undefined;
  const describe = Object.assign(within, { each: eachOf(within), skipIf: (skip) => (skip ? nothing : within) });
  const it = Object.assign((name, body) => add(name, body), { each: eachOf(add) });
  // What is done after all only prints.
  return { describe, it, test: it, expect, afterAll: nothing };
}

/** One file of tests as a function that gives its tests, each time from new modules. */
async function compiledFile(file) {
  const bundle = await build({
    entryPoints: [file],
    bundle: true,
    write: false,
    // The copy that stryker changed, and not the folder in which esbuild was loaded.
    absWorkingDir: process.cwd(),
    format: 'cjs',
    platform: 'node',
    conditions: ['source'],
    packages: 'external',
    define: { 'import.meta.url': JSON.stringify(pathToFileURL(resolve(file)).href) },
    logLevel: 'silent',
  });
  return vm.runInThisContext(`(function (require, module, exports, console) {${bundle.outputFiles[0].text}\n})`, {
    filename: `${file}.bundle.js`,
  });
}

class InProcessRunner {
  #expect;
  #files = [];
  #names = new Map();

  capabilities() {
    return { reloadEnvironment: true };
  }

  async init() {
    fc.configureGlobal({ seed: caseSeed });
    this.#expect = await vitestExpect();
    const patterns = (process.env['MUTATION_TESTS'] ?? 'tests/rules/**/*.test.ts').split(',');
    const names = patterns.flatMap(filesOf).sort();
    this.#files = await Promise.all(names.map(async (name) => ({ name, load: await compiledFile(name), ms: 0 })));
    // A runner that took the place of one which hung has had no dry run: by the kind of the file then.
    this.#files.sort((one, other) => slowness(one.name) - slowness(other.name));
  }

  get #state() {
    // The name by which stryker's instrumented code asks which mutant it is.
    globalThis.__stryker__ ??= {};
    return globalThis.__stryker__;
  }

  #testsOf(file) {
    const found = [];
    const vitest = collector(found, this.#expect);
    const mute = { log() {}, warn() {}, info() {}, error() {}, table() {} };
    const own = createRequire(import.meta.url);
    const packages = { vitest, 'fast-check': fc };
    file.load((name) => packages[name] ?? own(name), { exports: {} }, {}, mute);
    return found.map(({ name, run }) => ({ id: `${file.name}#${name}`, run }));
  }

  async dryRun() {
    const state = this.#state;
    state.activeMutant = undefined;
    const tests = [];
    for (const file of this.#files) {
      const began = performance.now();
      for (const { id, run } of this.#testsOf(file)) {
        if (this.#names.has(id)) return { status: 'error', errorMessage: `two tests are called ${id}` };
        this.#names.set(id, file);
        state.currentTestId = id;
        const testBegan = performance.now();
        const failure = await failureOf(run);
        state.currentTestId = undefined;
        const timeSpentMs = performance.now() - testBegan;
        tests.push({
          id,
          name: id,
          timeSpentMs,
          status: failure === undefined ? passed : failed,
          failureMessage: failure,
        });
      }
      file.ms = performance.now() - began;
    }
    this.#files.sort((one, other) => one.ms - other.ms);
    return { status: 'complete', tests, mutantCoverage: state.mutantCoverage };
  }

  async mutantRun({ testFilter, hitLimit, activeMutant, mutantActivation }) {
    if (!isDrawn(activeMutant)) return { status: 'error', errorMessage: 'not drawn' };
    const state = this.#state;
    const wanted = testFilter && new Set(testFilter);
    const files = wanted
      ? this.#files.filter(({ name }) => testFilter.some((id) => id.startsWith(`${name}#`)))
      : this.#files;
    Object.assign(state, { activeMutant: undefined, hitCount: 0, hitLimit });
    let nrOfTests = 0;
    const verdict = (id, failureMessage) =>
      hitLimit !== undefined && state.hitCount > hitLimit
        ? { status: 'timeout', reason: `hit limit reached (${state.hitCount}/${hitLimit})` }
        : { status: 'killed', killedBy: [id], failureMessage, nrOfTests };
    try {
      for (const file of files) {
        state.activeMutant = mutantActivation === 'static' ? activeMutant.id : undefined;
        let tests;
        const loadFailure = await failureOf(() => {
          tests = this.#testsOf(file);
        });
        // A test file that no longer loads fails every test in it.
        if (loadFailure !== undefined) return verdict(`${file.name}#load`, loadFailure);
        state.activeMutant = activeMutant.id;
        for (const { id, run } of tests) {
          if (wanted && !wanted.has(id)) continue;
          nrOfTests += 1;
          const failure = await failureOf(run);
          if (failure !== undefined) return verdict(id, failure);
        }
      }
    } finally {
      state.activeMutant = undefined;
    }
    return { status: 'survived', nrOfTests };
  }
}

/** By what the mutant is and not by its number, so that the draw stays when other files are mutated along with it. */
function isDrawn({ fileName, location, mutatorName, replacement }) {
  if (share >= 1) return true;
  const mutant = JSON.stringify([caseSeed, basename(fileName), location, mutatorName, replacement]);
  return createHash('sha256').update(mutant).digest().readUInt32BE() / 2 ** 32 < share;
}

/** What a test threw, as words, or undefined. */
async function failureOf(run) {
  try {
    await run();
    return undefined;
  } catch (error) {
    return String(error?.message ?? error).slice(0, 2000) || 'failed without words';
  }
}

/** The files of `folder/**` + `/*.test.ts`, or the one file that is named. */
function filesOf(pattern) {
  const [folder, below] = pattern.split('/**/');
  if (below === undefined) return [pattern];
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => `${folder}/${name}`);
}

/** Properties and scripts that play weeks come after the rest. */
function slowness(name) {
  return /faulty-rooms|gsw/.test(name) ? 2 : /\.(property|script)\./.test(name) ? 1 : 0;
}

export const strykerPlugins = [{ kind: 'TestRunner', name: 'vitest', injectableClass: InProcessRunner }];
