// The property tests over cases that no run has met yet: `npm run properties -- ROUNDS [vitest's own arguments]`.
import { spawnSync } from 'node:child_process';
import { randomInt } from 'node:crypto';

const [rounds = '1', ...more] = process.argv.slice(2);
if (!/^[1-9]\d*$/.test(rounds)) {
  console.error(`properties: "${rounds}" is not a number of rounds; 1 or more`);
  process.exit(2);
}
const failed = [];
for (let round = 1; round <= Number(rounds); round += 1) {
  const seed = String(randomInt(2 ** 31));
  console.log(`round ${round} of ${rounds}, PROPERTY_SEED=${seed}`);
  const { status } = spawnSync('vitest', ['run', 'property.test', ...more], {
    env: { ...process.env, PROPERTY_SEED: seed },
    stdio: 'inherit',
  });
  if (status !== 0) failed.push(seed);
}
console.log(
  failed.length === 0 ? `no counterexample in ${rounds}` : `counterexamples with PROPERTY_SEED ${failed.join(', ')}`,
);
process.exit(failed.length === 0 ? 0 : 1);
