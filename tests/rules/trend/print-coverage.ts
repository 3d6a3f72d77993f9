/**
 * Prints how often the true level and demand of simulated tanks lie within one and two standard deviations of the curve of
 * the past: npx tsx --conditions=source tests/rules/trend/print-coverage.ts [runs of each case] [first seed]
 */
import { coverageOf } from './history-coverage.ts';
import { tankCases } from './tank-cases.ts';

const runs = Number(process.argv[2] ?? 4);
const firstSeed = Number(process.argv[3] ?? 100);
const seeds = Array.from({ length: runs }, (_, run) => firstSeed + run);
const cell = (text: string): string => text.padStart(9);
const heads = ['looks', 'level 1', 'level 2', 'use 1', 'use 2', 'sd tests', 'sd betw.', 'error'];
console.log(`${'case (normal: 68, 95)'.padEnd(28)}${heads.map(cell).join('')}`);
const all: number[][] = [];
for (const tank of tankCases) {
  const found = coverageOf(tank, seeds);
  const shares = [found.levelWithin1, found.levelWithin2, found.demandWithin1, found.demandWithin2];
  all.push(shares);
  const cells = [
    String(found.looks),
    ...shares.map((share) => (100 * share).toFixed(0)),
    ...[found.sdAtTests, found.sdBetween, found.errorBetween].map((sd) => sd.toFixed(3)),
  ];
  console.log(tank.name.padEnd(28) + cells.map(cell).join(''));
}
const means = [0, 1, 2, 3].map((at) => all.reduce((sum, shares) => sum + shares[at]!, 0) / all.length);
console.log('mean'.padEnd(28) + ['', ...means.map((share) => (100 * share).toFixed(0))].map(cell).join(''));
