import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** The few files that take a minute or more begin first: the last of them would else run alone at the end. */
class LongOnesFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const isLong = ({ moduleId }: TestSpecification) =>
      /faults\/matrix|bench\.test|update\.fault|browser\.test/.test(moduleId);
    return [...sorted.filter(isLong), ...sorted.filter((file) => !isLong(file))];
  }
}

/** How many times as long a loaded machine may take: TEST_PATIENCE=4. No test asserts a time. */
const patience = Number(process.env['TEST_PATIENCE'] ?? 1);

// The `source` condition makes `#rules/…` name the TypeScript files, so tests never run a stale build.
export default defineConfig({
  resolve: { conditions: ['source'] },
  ssr: { resolve: { conditions: ['source'] } },
  test: {
    include: ['tests/**/*.test.ts'],
    setupFiles: ['tests/properties/seed.ts'],
    // Against a test that hangs, and far above what any takes: on a machine that does much else 30 s were too few.
    testTimeout: 120_000 * patience,
    hookTimeout: 60_000 * patience,
    // Most end to end tests wait for real servers: one worker more than the cores of a small machine fills that time.
    maxWorkers: 3,
    // A worker loads the libraries once and not for each of its files, which halves the processor time. So a test that changes
    // something global (timers, the environment) puts it back.
    isolate: false,
    sequence: { sequencer: LongOnesFirst },
  },
});
