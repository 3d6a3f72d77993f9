import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import type { BatchAnswer } from '../api/batches.ts';
import { askRoute, type Flags, given, hubVerbs, numberIn, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

type ShownBatch = BatchAnswer & { cautions?: string[] };

const waterFlags = ['temperature', 'salinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'] as const;

const waterOf = (o: Flags) =>
  given(Object.fromEntries(waterFlags.map((name) => [name, numberIn(o[name], `--${name}`)])));

const words = (water: Record<string, number>) =>
  Object.entries(water)
    .map(([metric, value]) => `${metric} ${Number(value.toPrecision(5))}`)
    .join(', ') || 'not measured yet';

const batchLines = ({ id, system, litres, left_l, salt, water, cautions = [] }: ShownBatch) => [
  `${id} for ${system}: ${litres} L of ${salt}, ${left_l.toFixed(1)} L left, ${words(water)}`,
  ...cautions.map((caution) => `! ${caution}`),
];

/** `brinekeep batch …`: salt water made up, compared with its tank, and changed into it, at the running hub. */
export function addBatchVerbs(program: Command, terminal: Terminal): void {
  const batch = program.command('batch').description('salt water: make, measure, match, plan and log a water change');
  const verb = hubVerbs(batch);
  const withWater = (command: Command) => waterFlags.reduce((each, name) => each.option(`--${name} <number>`), command);

  verb('make', 'log salt water that you made up')
    .requiredOption('--system <id>', 'the system it is for')
    .requiredOption('--litres <litres>')
    .requiredOption('--salt <name>', 'your name for the salt')
    .requiredOption('--grams <g>')
    .option('--probes-of <system>', 'a configured system whose probes are in the vessel')
    .action(async (o: Flags) => {
      const body = given({
        key: randomUUID(),
        system: o['system'],
        litres: numberIn(o['litres'], '--litres'),
        salt: o['salt'],
        salt_g: numberIn(o['grams'], '--grams'),
        probes_of: o['probesOf'],
      });
      show(o, terminal, await askRoute(o, terminal, 'POST /api/batches', { body }), batchLines);
    });

  verb('list', 'all batches').action(async (o: Flags) => {
    const answer = await askRoute(o, terminal, 'GET /api/batches', {});
    show(o, terminal, answer, (all) => all.flatMap(batchLines));
  });

  withWater(verb('measure', 'log what you measured in a batch').argument('<id>')).action(
    async (id: string, o: Flags) => {
      const asked = { params: { id }, body: waterOf(o) };
      show(o, terminal, await askRoute(o, terminal, 'POST /api/batches/:id/water', asked), batchLines);
    },
  );

  verb('match', 'whether it is fit for its tank; exit 1 when not')
    .argument('<id>')
    .action(async (id: string, o: Flags) => {
      const answer = await askRoute(o, terminal, 'GET /api/batches/:id/match', { params: { id } });
      show(o, terminal, answer, ({ metrics }) => metrics.map(({ text }) => text));
      if (!answer.is_ready) process.exitCode = 1;
    });

  withWater(verb('plan', 'what a water change would do'))
    .requiredOption('--system <id>')
    .option('--litres <litres>')
    .option('--batch <id>', 'the new water; or give its values with the other flags')
    .action(async (o: Flags) => {
      const body = given({
        system: o['system'],
        volume_l: numberIn(o['litres'], '--litres'),
        batch: o['batch'],
        water: o['batch'] === undefined ? waterOf(o) : undefined,
      });
      const answer = await askRoute(o, terminal, 'POST /api/water-changes/plan', { body });
      show(o, terminal, answer, (plan) => [
        `now: ${words(plan.tank)}`,
        ...(plan.after === null ? [] : [`after: ${words(plan.after)}`]),
        `at most ${plan.largest_in_a_day_l.toFixed(0)} L a day${plan.limited_by === null ? '' : `, limited by ${plan.limited_by}`}`,
        ...plan.warnings.map((warning) => `! ${warning}`),
      ]);
    });

  verb('change', 'log a water change done with a batch')
    .argument('<id>')
    .requiredOption('--system <id>')
    .requiredOption('--litres <litres>')
    .option('--time <iso>')
    .action(async (id: string, o: Flags) => {
      const body = given({
        key: randomUUID(),
        system: o['system'],
        batch: id,
        volume_l: numberIn(o['litres'], '--litres'),
        time: o['time'],
      });
      const answer = await askRoute(o, terminal, 'POST /api/water-changes/done', { body });
      show(o, terminal, answer, (done) => ['Saved', `expected: ${words(done.expected)}`]);
    });

  verb('effect', 'what a water change really did')
    .argument('<entry>', 'id of the entry of the water change')
    .action(async (id: string, o: Flags) => {
      const answer = await askRoute(o, terminal, 'GET /api/water-changes/:id/effect', { params: { id } });
      show(o, terminal, answer, (all) =>
        all.length === 0
          ? ['not measured before and after it yet']
          : all.map(
              ({ metric, before, expected, after, by }) =>
                `${metric}: ${before.toFixed(2)} to ${after.toFixed(2)} by ${by}${expected === null ? '' : `, expected ${expected.toFixed(2)}`}`,
            ),
      );
    });
}
