import { steadinessTable, tableLines } from './table.ts';

/** Draws rooms, prints what was drawn, and the table: `print-table.ts [analyte] [runs] [first seed]`; a seed of the clock unless one is given. */
const [analyte = 'alkalinity', runs = '5', first] = process.argv.slice(2);
const firstSeed = first === undefined ? Date.now() % 1_000_000 : Number(first);
const seeds = Array.from({ length: Number(runs) }, (_, i) => firstSeed + i);
console.log(
  `seeds ${seeds.join(' ')}; rms, 95 % interval, share outside the band, acts a test, largest change in a day`,
);
const rows = steadinessTable(seeds, analyte as 'alkalinity' | 'calcium' | 'magnesium');
console.log(tableLines(rows).join('\n'));
console.log(JSON.stringify(rows.map(({ room }) => room)));
