import fc from 'fast-check';
import { complaintsOfReal, realHistories } from './real-parts.ts';
import { complaintsAbout, histories } from './schedule.ts';

/** Random histories of faults, for long: `npm run oracle -- RUNS [SEED [REAL]]`, the last ones
 * with the hub's own process and a real broker. Prints the shortest history that fails, if one does. */
const [runs = '2000', seed = String(Date.now() % 1_000_000_007), real = '10'] = process.argv.slice(2);
async function search<History>(
  what: string,
  arbitrary: fc.Arbitrary<History>,
  count: number,
  complaints: (history: History) => Promise<string[]>,
  endOnFailure: boolean,
) {
  const startMs = performance.now();
  const holds = fc.asyncProperty(arbitrary, async (history) => {
    const found = await complaints(history);
    if (found.length > 0) throw new Error(found.join('\n'));
  });
  const found = await fc.check(holds, { seed: Number(seed), numRuns: count, endOnFailure });
  const seconds = ((performance.now() - startMs) / 1000).toFixed(0);
  console.log(`seed ${seed}: ${found.numRuns} ${what} in ${seconds} s, ${found.failed ? 'one fails' : 'all is told'}`);
  if (!found.failed) return;
  console.log(JSON.stringify(found.counterexample?.[0], null, 1), String(found.errorInstance));
  process.exitCode = 1;
}

if (Number(runs) > 0) await search('histories', histories, Number(runs), (history) => complaintsAbout(history), false);
// Each takes its seconds: not shrunk.
if (Number(real) > 0) await search('histories with real parts', realHistories, Number(real), complaintsOfReal, true);
setTimeout(() => process.exit(), 2_000).unref();
