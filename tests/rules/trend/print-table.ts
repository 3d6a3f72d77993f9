/**
 * Prints how the demand filter fares over invented systems beside the best possible and a straight line:
 * npx tsx --conditions=source tests/rules/trend/print-table.ts [runs]
 */
import { compare } from './compare-estimates.ts';
import { tankCases } from './tank-cases.ts';

const runs = Number(process.argv[2] ?? 12);
const cell = (text: string, width = 9): string => text.padStart(width);
console.log(
  `${'case'.padEnd(30)}${['tests', 'level', 'x best', 'x line', 'in 95%', 'demand', 'x best', 'x line', 'in 95%', 'seen', 'false'].map((h) => cell(h)).join('')}`,
);
const worst = { level: [] as number[], demand: [] as number[] };
for (const tank of tankCases) {
  const { name, tests, level, demand, levelHeld, demandHeld, outliersSeen, falseSuspects } = compare(tank, runs);
  worst.level.push(level.filter / level.best);
  worst.demand.push(demand.filter / demand.best);
  const percent = (share: number): string => (Number.isNaN(share) ? '-' : `${(100 * share).toFixed(1)}`);
  console.log(
    name.padEnd(30) +
      [
        String(tests),
        level.filter.toFixed(4),
        (level.filter / level.best).toFixed(2),
        (level.filter / level.line).toFixed(2),
        percent(levelHeld),
        demand.filter.toFixed(4),
        (demand.filter / demand.best).toFixed(2),
        (demand.filter / demand.line).toFixed(2),
        percent(demandHeld),
        percent(outliersSeen),
        percent(falseSuspects),
      ]
        .map((text) => cell(text))
        .join(''),
  );
}
const mean = (numbers: number[]): string => (numbers.reduce((sum, n) => sum + n, 0) / numbers.length).toFixed(3);
console.log(`mean times best: level ${mean(worst.level)}, demand ${mean(worst.demand)}`);
