/**
 * Prints how the demand filter fares over invented systems beside the best possible and a straight line:
 * npx tsx --conditions=source tests/rules/trend/print-table.ts [runs of each case] [random systems] [first seed]
 */
import { compare } from './compare-estimates.ts';
import { randomTank, tankCases } from './tank-cases.ts';

const runs = Number(process.argv[2] ?? 8);
const cell = (text: string, width = 9): string => text.padStart(width);
console.log(
  `${'case'.padEnd(30)}${['tests', 'level', 'x best', 'x line', 'in 95%', 'demand', 'x best', 'x line', 'in 95%', 'seen', 'false'].map((h) => cell(h)).join('')}`,
);
const worst = { level: [] as number[], demand: [] as number[] };
for (const tank of runs > 0 ? tankCases : []) {
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

const randomSystems = Number(process.argv[3] ?? 60);
const firstSeed = Number(process.argv[4] ?? 5000);
const drawn = Array.from({ length: randomSystems }, (_, i) => compare(randomTank(firstSeed + i), 1));
const summary = (label: string, numbers: number[]): void => {
  const sorted = numbers.filter((number) => Number.isFinite(number)).sort((a, b) => a - b);
  const at = (share: number): string => cell(sorted[Math.round(share * (sorted.length - 1))]!.toFixed(3));
  console.log(label.padEnd(30) + [0.1, 0.25, 0.5, 0.75, 0.9].map(at).join(''));
};
if (randomSystems > 0) {
  console.log(
    `\n${`${randomSystems} random systems`.padEnd(30)}${['10 %', '25 %', 'median', '75 %', '90 %'].map((h) => cell(h)).join('')}`,
  );
  summary(
    'level error, times best',
    drawn.map((row) => row.level.filter / row.level.best),
  );
  summary(
    'demand error, times best',
    drawn.map((row) => row.demand.filter / row.demand.best),
  );
  summary(
    'level error, times line',
    drawn.map((row) => row.level.filter / row.level.line),
  );
  summary(
    'demand error, times line',
    drawn.map((row) => row.demand.filter / row.demand.line),
  );
  summary(
    'level in its 95 % interval',
    drawn.map((row) => row.levelHeld),
  );
  summary(
    'demand in its 95 % interval',
    drawn.map((row) => row.demandHeld),
  );
  summary(
    'outliers seen',
    drawn.map((row) => row.outliersSeen),
  );
  summary(
    'good tests called suspect',
    drawn.map((row) => row.falseSuspects),
  );
  const all = drawn.reduce((sum, row) => sum + row.tests, 0);
  const share = (of: (row: (typeof drawn)[number]) => number): string =>
    (drawn.reduce((sum, row) => sum + of(row) * row.tests, 0) / all).toFixed(3);
  console.log(
    `over ${all} tests: level held ${share((row) => row.levelHeld)}, demand held ${share((row) => row.demandHeld)}`,
  );
}
