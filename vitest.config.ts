import { defineConfig } from 'vitest/config';

// The `source` condition makes `#rules/…` name the TypeScript files, so tests never run a stale build.
export default defineConfig({
  resolve: { conditions: ['source'] },
  ssr: { resolve: { conditions: ['source'] } },
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    // Most end to end tests wait for real servers: one worker more than the cores of a small machine fills that time.
    maxWorkers: 3,
  },
});
