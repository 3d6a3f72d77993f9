import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import type { KitAnswer } from '../api/kits.ts';
import { askRoute, type Flags, given, hubVerbs, numberIn, numberOf, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

const short = (value: number) => Number(value.toPrecision(3));

function kitLines({ id, name, analyte, unit, lot, pairs, bias, sd, corrects_from, warnings }: KitAnswer): string[] {
  const of = lot === null ? '' : `, lot ${lot}`;
  const reads = bias === null ? 'not compared with a reference yet' : biasWords(bias, unit, pairs);
  const scatter = sd === null ? '' : `; sd ${short(sd.value)} (${short(sd.low)} to ${short(sd.high)})`;
  const from = corrects_from === null ? '' : `; corrects tests from ${corrects_from}`;
  return [`${id}: ${name}${of}, ${analyte}: ${reads}${scatter}${from}`, ...warnings.map((warning) => `! ${warning}`)];
}

function biasWords(bias: NonNullable<KitAnswer['bias']>, unit: string, pairs: number): string {
  const { value, low, high } = bias.value < 0 ? { value: -bias.value, low: -bias.high, high: -bias.low } : bias;
  const way = bias.value < 0 ? 'low' : 'high';
  return `reads ${short(value)} ${unit} too ${way} (95 % ${short(low)} to ${short(high)}), from ${testsText(pairs)}`;
}

const testsText = (count: number): string => `${count} ${count === 1 ? 'test' : 'tests'}`;

/** `brinekeep kit …`: the kits of the room as instruments, at the running hub. */
export function addKitVerbs(program: Command, terminal: Terminal): void {
  const kit = program
    .command('kit')
    .description('test kits: log a lot, compare it with a reference, correct its tests');
  const verb = hubVerbs(kit);

  verb('list', 'every kit with its bias and scatter').action(async (o: Flags) => {
    show(o, terminal, await askRoute(o, terminal, 'GET /api/kits', {}), (all) => all.flatMap(kitLines));
  });

  verb('open', 'log a kit that you opened; the same name again is a new lot')
    .requiredOption('--name <name>', 'what you call it')
    .requiredOption('--analyte <name>')
    .option('--lot <text>')
    .option('--resolution <number>', "smallest step of its scale, in the analyte's store unit")
    .option('--time <iso>', 'when, ISO 8601 with offset; now when left out')
    .option('--by <name>', 'who')
    .action(async (o: Flags) => {
      const body = given({
        key: randomUUID(),
        name: o['name'],
        analyte: o['analyte'],
        lot: o['lot'],
        time: o['time'],
        by: o['by'],
        resolution: numberIn(o['resolution'], '--resolution'),
      });
      show(o, terminal, await askRoute(o, terminal, 'POST /api/kits', { body }), kitLines);
    });

  verb('compare', 'log what a kit read in a reference solution, or in water that was also titrated')
    .argument('<id>', 'of the kit')
    .argument('<found...>', 'what the kit read, one number for each repeat')
    .option('--unit <unit>', "of all values; the analyte's store unit when left out")
    .option('--reference <number>', 'value on the label of the reference solution')
    .option('--reference-sd <number>', 'standard uncertainty of the reference')
    .option('--titration <id>', 'or the entry of the titration of the same water')
    .option('--by <name>', 'who')
    .action(async (id: string, found: string[], o: Flags) => {
      const body = given({
        key: randomUUID(),
        by: o['by'],
        unit: o['unit'],
        found: found.map((each) => numberOf(each, 'found')),
        reference: numberIn(o['reference'], '--reference'),
        reference_sd: numberIn(o['referenceSd'], '--reference-sd'),
        titration: numberIn(o['titration'], '--titration'),
      });
      const asked = { params: { id }, body };
      show(o, terminal, await askRoute(o, terminal, 'POST /api/kits/:id/compare', asked), kitLines);
    });

  verb('apply', 'correct the stored tests of a kit from a date on')
    .argument('<id>', 'of the kit')
    .requiredOption('--from <iso>', 'ISO 8601 with offset')
    .requiredOption('--by <name>', 'who')
    .action(async (id: string, o: Flags) => {
      const asked = { params: { id }, body: { from: o['from'], by: o['by'] } };
      const done = await askRoute(o, terminal, 'POST /api/kits/:id/apply', asked);
      show(o, terminal, done, ({ tests }) => [`corrected: ${testsText(tests)}`]);
    });
}
