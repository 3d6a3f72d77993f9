// Prints places in a folder of rules for stryker's --mutate: of each `share` blocks of lines one, by chance, always the same.
//
//     npx stryker run tests/mutation/stryker.config.mjs --mutate "$(node tests/mutation/sample.mjs rules/bands 10)"
//
// A mutant counts when all of it lies in a block, so of those that span many lines fewer are taken.
import { readdirSync, readFileSync } from 'node:fs';

const linesOfABlock = 20;
const [folder = 'rules', share = '10'] = process.argv.slice(2);

let state = 20_261_125;
function chance() {
  state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
  return state / 2 ** 32;
}

const places = readdirSync(folder, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts'))
  .sort()
  .flatMap((name) => {
    const lines = readFileSync(`${folder}/${name}`, 'utf8').split('\n').length;
    return Array.from({ length: Math.ceil(lines / linesOfABlock) }, (_, block) => {
      const first = block * linesOfABlock + 1;
      return chance() * Number(share) < 1
        ? [`${folder}/${name}:${first}-${Math.min(lines, first + linesOfABlock - 1)}`]
        : [];
    }).flat();
  });
process.stdout.write(`${places.join()}\n`);
