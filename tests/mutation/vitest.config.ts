import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/** The tests that stryker runs: those of the rules alone, or of the folders that `stryker.config.mjs` names. */
const tests = process.env['MUTATION_TESTS'] ?? 'tests/rules/**/*.test.ts';

export default defineConfig({
  // Stryker copies the project and runs the copy; this file is two folders below its top there too.
  root: fileURLToPath(new URL('../..', import.meta.url)),
  resolve: { conditions: ['source'] },
  ssr: { resolve: { conditions: ['source'] } },
  test: {
    include: tests.split(','),
    setupFiles: ['tests/properties/seed.ts'],
    testTimeout: 30_000,
    maxWorkers: 1,
  },
});
