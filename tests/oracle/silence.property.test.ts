import fc from 'fast-check';
import { expect, test, vi } from 'vitest';
import { patience } from '../servers/server-process.ts';
import { complaintsAbout, histories, type Step } from './schedule.ts';
import type { Planted } from './small-hub.ts';

vi.setConfig({ testTimeout: 240_000 * patience() });

/** The same in every run; `tests/oracle/long.mts` takes others. */
const seed = 18;

const isTold = (planted?: Planted) =>
  fc.asyncProperty(histories, async (history) => {
    const complaints = await complaintsAbout(history, planted);
    if (complaints.length > 0) throw new Error(complaints.join('\n'));
  });

test('some history of faults keeps an alarm from the phone, or tells what is not so', async () => {
  await fc.assert(isTold(), { seed, numRuns: 80 });
});

test('what was said before a kill is told as the value of now', async () => {
  const history: Step[] = [
    { do: 'wait', seconds: 70 },
    { do: 'forget' },
    { do: 'water', temperature_C: 27.5 },
    { do: 'kill', atSeam: 0 },
    { do: 'wait', seconds: 1 },
  ];
  expect(await complaintsAbout(history)).toEqual([]);
});

test.each<[Planted, number, string]>([
  ['never_catches_up', 4, 'a hub that does not judge what was on disk when it died'],
  ['refusal_blocks', 1, 'a notice that is refused and blocks the others'],
  ['waits_for_ever', seed, 'a broker that never acknowledges'],
  ['never_says_again', seed, 'a broker that lost what it held'],
])('the oracle does not see %s (seed %i): %s', async (planted, from) => {
  const found = await fc.check(isTold(planted), { seed: from, numRuns: 150 });
  expect(found.failed).toBe(true);
  console.log(
    `${planted}: found by history ${found.numRuns}, shrunk to ${JSON.stringify(found.counterexample?.[0])}: ${String(found.errorInstance).replaceAll('\n', '; ')}`,
  );
});

test('the oracle does not see that a flooding probe delays an alarm', async () => {
  const flooded: Step[] = [
    { do: 'flood', seconds: 240 },
    { do: 'wait', seconds: 70 },
    { do: 'water', temperature_C: 27.5 },
    { do: 'wait', seconds: 240 },
  ];
  expect(await complaintsAbout(flooded, 'flood_unbounded')).toContain('an alarm waits behind a flood');
  expect(await complaintsAbout(flooded)).toEqual([]);
});
