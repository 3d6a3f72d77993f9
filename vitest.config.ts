import { defineConfig } from 'vitest/config';

// The `source` condition makes `#rules/…` name the TypeScript files, so tests never run a stale build.
export default defineConfig({
  resolve: { conditions: ['source'] },
  ssr: { resolve: { conditions: ['source'] } },
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    // Two real servers and a browser share a small machine: more workers than cores only makes them wait.
    maxWorkers: 2,
  },
});
