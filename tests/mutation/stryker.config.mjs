/**
 * Mutation of the rules: each run changes one thing in a copy of `rules/` and expects a test to fail.
 *
 *     npx stryker run tests/mutation/stryker.config.mjs --mutate 'rules/quantity/**'
 *
 * A folder of rules is held against the tests of that folder alone, so that what survives there is what its own tests do not
 * see. Without `--mutate` it is all of rules/ against all of tests/rules, which takes hours.
 */
const at = process.argv.findIndex((word) => word === '--mutate' || word === '-m');
const patterns = at < 0 ? [] : (process.argv[at + 1] ?? '').split(',');
const folders = new Set(patterns.flatMap((pattern) => /^rules\/(\w+)\//.exec(pattern)?.[1] ?? []));
if (folders.size > 0)
  process.env['MUTATION_TESTS'] ??= [...folders].map((name) => `tests/rules/${name}/**/*.test.ts`).join();

// Our own runner stands in for stryker's under the same name, and is many times faster; see there.
const isInProcess = process.env['MUTATION_RUNNER'] !== 'vitest';

export default {
  mutate: ['rules/**/*.ts'],
  testRunner: 'vitest',
  plugins: [
    isInProcess ? new URL('in-process-runner.mjs', import.meta.url).pathname : '@stryker-mutator/vitest-runner',
  ],
  // The tests are chosen above; those related by imports would be nearly all for the folders that all others stand on.
  ...(isInProcess ? {} : { vitest: { configFile: 'tests/mutation/vitest.config.ts', related: false } }),
  coverageAnalysis: 'perTest',
  concurrency: 1,
  // This TypeScript has no compiler API: nothing here asks for one, and the tests run without a type check anyway.
  checkers: [],
  disableTypeChecks: false,
  tsconfigFile: 'none.json',
  ignorePatterns: [
    '.ci',
    'dist',
    'coverage',
    'deploy',
    'hub',
    'adapters',
    'tests/hub',
    'tests/adapters',
    'tests/deploy',
    '*.log',
  ],
  reporters: ['clear-text', 'json', 'progress-append-only'],
  jsonReporter: { fileName: `coverage/mutation-${[...folders].join('-') || 'all'}.json` },
  clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
  tempDirName: 'coverage/stryker',
  timeoutMS: 5_000,
  allowEmpty: true,
};
