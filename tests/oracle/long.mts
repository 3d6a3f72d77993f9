import fc from 'fast-check';
import { complaintsAbout, histories } from './schedule.ts';

/** Random histories of faults, for long: `npm run oracle -- RUNS [SEED]`. Prints the shortest history that fails, if one does. */
const [runs = '2000', seed = String(Date.now() % 1_000_000_007)] = process.argv.slice(2);
const startMs = performance.now();
const found = await fc.check(
  fc.asyncProperty(histories, async (history) => {
    const complaints = await complaintsAbout(history);
    if (complaints.length > 0) throw new Error(complaints.join('\n'));
  }),
  { seed: Number(seed), numRuns: Number(runs) },
);
const seconds = ((performance.now() - startMs) / 1000).toFixed(0);
console.log(`seed ${seed}: ${found.numRuns} histories in ${seconds} s, ${found.failed ? 'one fails' : 'all is told'}`);
if (found.failed) console.log(JSON.stringify(found.counterexample?.[0], null, 1), String(found.errorInstance));
process.exitCode = found.failed ? 1 : 0;
