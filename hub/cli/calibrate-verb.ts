import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import type { Verdict } from '../api/calibrations.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRoute, given, type HubOptions, numberIn, numberOf } from './ask-hub.ts';
import { tokenFlag } from './hub-connection.ts';
import { defaultConfigPath } from './read-config.ts';
import type { Terminal } from './terminal.ts';

type Options = HubOptions & Record<string, string | undefined> & { dryRun?: boolean };

async function enter(o: Options, kind: string, found: Record<string, unknown>, terminal: Terminal): Promise<void> {
  const isDryRun = o.dryRun === true;
  const answer = await askRoute(o, terminal, 'POST /api/calibrations', {
    query: { dry_run: isDryRun ? 'true' : 'false' },
    body: given({
      // The same key on a second try makes it one calibration.
      key: isDryRun ? undefined : randomUUID(),
      kind,
      probe: o['probe'],
      by: o['by'],
      why: o['why'],
      time: o['time'],
      ...found,
    }),
  });
  for (const line of verdictLines(answer.verdict)) terminal.print(line);
  if (answer.id === null) {
    terminal.print('dry run: nothing was kept');
    return;
  }
  terminal.print(`saved as ${answer.id}, applies to readings from ${answer.in_force_from}`);
  if (answer.history_behind) {
    terminal.print(`readings from after its date are already stored. To correct them:`);
    terminal.print(`  brinekeep calibrate apply ${answer.id} --from TIME --to TIME --by ${o['by']}`);
  }
}

function verdictLines({ state, reasons, ...numbers }: Verdict): string[] {
  const found = Object.entries(numbers).map(([name, value]) => `  ${name} ${Number(Number(value).toPrecision(5))}`);
  return [`verdict: ${state.replaceAll('_', ' ')}`, ...reasons.map((reason) => `  ${reason}`), ...found];
}

const pointForm = 'BUFFER,TEMPERATURE,READING such as 7.02,22.5,-3.1mV or borax,22.5,9.31';

/** A buffer by name or by the pH on its bottle, its temperature in °C, and the electrode's mV or the probe's pH in it. */
function bufferPoint(text: string): Record<string, unknown> {
  const [buffer = '', temperature = '', reading, ...more] = text.split(',').map((part) => part.trim());
  if (buffer === '' || reading === undefined || more.length > 0) {
    throw new Refused('wrong_usage', `found "${text}", need ${pointForm}`);
  }
  const potential = /^(.*?)\s*mV$/i.exec(reading)?.[1];
  return {
    ...(Number.isFinite(Number(buffer)) ? { ph: Number(buffer) } : { buffer }),
    temperature_C: numberOf(temperature, `temperature in "${text}"`),
    ...(potential === undefined
      ? { shown_ph: numberOf(reading, `reading in "${text}"`) }
      : { potential_mV: numberOf(potential, `reading in "${text}"`) }),
  };
}

/** `brinekeep calibrate linear|cell|ph|list|apply`: the calibrations of a probe, at the running hub. */
export function addCalibrateVerb(program: Command, terminal: Terminal): void {
  const calibrate = program.command('calibrate').description('calibrate a probe at the running hub');
  const withConfig = (name: string, description: string) =>
    calibrate
      .command(name)
      .description(description)
      .option('--config <file>', 'configuration of the hub', defaultConfigPath)
      .option(...tokenFlag);
  const entering = (name: string, description: string) =>
    withConfig(name, description)
      .requiredOption('--probe <id>', 'id of the probe')
      .requiredOption('--by <name>', 'who')
      .requiredOption('--why <text>', 'why: routine, a doubtful reading, a new electrode')
      .option('--time <iso>', 'when it was, ISO 8601 with offset; now when left out')
      .option('--dry-run', 'give the verdict and save nothing');

  entering('linear', 'reading = slope × what the probe sends + offset')
    .option('--slope <number>', 'no unit', '1')
    .option('--offset <number>', "in the metric's store unit", '0')
    .action((o: Options) =>
      enter(
        o,
        'linear',
        { slope: numberIn(o['slope'], '--slope'), offset: numberIn(o['offset'], '--offset') },
        terminal,
      ),
    );

  entering('cell', 'a conductivity probe in a potassium chloride standard or in seawater of known salinity')
    .requiredOption('--shown <mS/cm>', 'what the probe sends in the standard')
    .requiredOption('--temperature <°C>', 'of the standard')
    .option('--temperature-sd <°C>', 'standard uncertainty of that temperature')
    .option('--kcl <name>', 'the standard, such as kcl_12.88mS, kcl_1413uS, kcl_0.1_demal')
    .option('--salinity <number>', 'or the practical salinity of the seawater, such as 35')
    .option('--salinity-sd <number>', 'standard uncertainty of that salinity')
    .action((o: Options) => {
      if ((o['kcl'] === undefined) === (o['salinity'] === undefined)) {
        throw new Refused('wrong_usage', 'need either --kcl or --salinity');
      }
      const seawater = () =>
        given({
          seawater_salinity: numberIn(o['salinity'], '--salinity'),
          salinity_sd: numberIn(o['salinitySd'], '--salinity-sd'),
        });
      return enter(
        o,
        'cell',
        {
          standard: o['kcl'] === undefined ? seawater() : { kcl: o['kcl'] },
          shown_mS_cm: numberIn(o['shown'], '--shown'),
          standard_temperature_C: numberIn(o['temperature'], '--temperature'),
          temperature_sd_C: numberIn(o['temperatureSd'], '--temperature-sd'),
        },
        terminal,
      );
    });

  entering('ph', 'a pH electrode in one to three buffers, each at its own temperature')
    .argument('<points...>', pointForm)
    .action((points: string[], o: Options) => enter(o, 'ph', { buffers: points.map(bufferPoint) }, terminal));

  withConfig('list', "a probe's calibrations, and what it sends uncorrected")
    .requiredOption('--probe <id>', 'id of the probe')
    .action(async (o: Options) => {
      const asked = { query: { probe: o['probe'] ?? '' } };
      const { wire, calibrations } = await askRoute(o, terminal, 'GET /api/calibrations', asked);
      const sends = wire === null ? 'no reading yet' : `${wire.value} ${wire.unit}`.trim();
      terminal.print(`sends ${sends}${wire === null ? '' : ` at ${wire.time}`}`);
      for (const each of calibrations) {
        terminal.print([each.id, each.time, each.kind, each.verdict.state, each.by, each.why].join('  '));
      }
    });

  withConfig('apply', 'apply a calibration to the stored readings of its probe')
    .argument('<id>', 'of the calibration')
    .requiredOption('--from <iso>', 'ISO 8601 with offset')
    .requiredOption('--to <iso>', 'ISO 8601 with offset')
    .requiredOption('--by <name>', 'who')
    .action(async (id: string, o: Options) => {
      const asked = { params: { id: numberOf(id, 'id') }, body: { from: o['from'], to: o['to'], by: o['by'] } };
      const done = await askRoute(o, terminal, 'POST /api/calibrations/:id/apply-to-history', asked);
      const derived = `${done.salinity} of salinity, ${done.specific_gravity} of specific gravity`;
      terminal.print(`corrected: ${done.readings} readings, ${derived}`);
    });
}
