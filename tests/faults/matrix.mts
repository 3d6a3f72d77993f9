import type { Fault } from './fault.ts';
import { faults } from './registry.ts';
import { runFault } from './run-fault.ts';
import { isAllKept, matrixText, type Result } from './table.ts';

/**
 * Causes the faults and prints what they did. Exit 0: every promise was kept; 1: one was broken; 2: wrong usage.
 *
 *     npm run faults -- [--short] [--json] [--amount N] [names]
 */
function usage(why: string): never {
  console.error(
    `${why}\nusage: npm run faults -- [--short] [--json] [--amount N] [names]\n\nfaults, with their amounts:`,
  );
  for (const { name, title, amount } of faults) {
    console.error(`  ${name.padEnd(10)} ${title} (${amount.of}: ${amount.short} short, ${amount.long} long)`);
  }
  process.exit(2);
}

// Nobody waits for it, and it may run beside much else.
process.env['TEST_PATIENCE'] ??= '6';

const names: string[] = [];
let isShort = false;
let isJson = false;
let given: number | undefined;
const words = process.argv.slice(2);
for (let at = 0; at < words.length; at += 1) {
  const word = words[at]!;
  if (word === '--short') isShort = true;
  else if (word === '--json') isJson = true;
  else if (word === '--amount') {
    at += 1;
    given = Number(words[at]);
    if (!(given > 0)) usage(`--amount: found ${words[at]}, need a number above 0`);
  } else if (word.startsWith('-')) usage(`unknown option ${word}`);
  else names.push(word);
}
for (const name of names) if (!faults.some((fault) => fault.name === name)) usage(`unknown fault ${name}`);
const amountOf = ({ amount }: Fault) => given ?? (isShort ? amount.short : amount.long);

const results: Result[] = [];
for (const fault of faults) {
  if (names.length > 0 && !names.includes(fault.name)) continue;
  process.stderr.write(`${fault.name}: ${fault.title}, ${amountOf(fault)} ${fault.amount.of} ...\n`);
  results.push(await runFault(fault, amountOf(fault)));
}
process.stdout.write(isJson ? `${JSON.stringify(results, null, 2)}\n` : matrixText(results));
// Not exit(): a pipe must get all of the table. What a library still holds open ends a moment later.
process.exitCode = isAllKept(results) ? 0 : 1;
setTimeout(() => process.exit(), 2_000).unref();
