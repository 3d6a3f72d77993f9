import fc from 'fast-check';
import { describe, test, vi } from 'vitest';
import { isMissing } from '../machine/parts.mjs';
import { patience } from '../servers/server-process.ts';
import { complaintsOfReal, realHistories } from './real-parts.ts';

vi.setConfig({ testTimeout: 240_000 * patience() });

/** The same in every run; `npm run oracle -- 0 SEED COUNT` takes others. */
const seed = 20_261_201;
const histories = 3;

describe.skipIf(isMissing('mosquitto'))("the hub's own process and a real broker", () => {
  test('some history of kills, a broker and a phone that are away keeps an alarm from the phone', async () => {
    const isTold = fc.asyncProperty(realHistories, async (history) => {
      const complaints = await complaintsOfReal(history);
      if (complaints.length > 0) throw new Error(complaints.join('\n'));
    });
    // Each takes its seconds: not shrunk.
    await fc.assert(isTold, { seed, numRuns: histories, endOnFailure: true });
  });
});
