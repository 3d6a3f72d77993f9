import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import { dataOf } from '../flow/calibration/json-data.ts';
import { VerbFailed } from './exit-code.ts';
import { askRunningHub, tokenFlag } from './hub-connection.ts';
import { defaultConfigPath } from './read-config.ts';
import type { Terminal } from './terminal.ts';

type Verdict = { state: string; reasons: string[] } & Record<string, unknown>;
type Entered = { id: number | null; verdict: Verdict; in_force_from: string; history_behind: boolean };
type Applied = { readings: number; salinity: number; specific_gravity: number };
type OfProbe = {
  wire: { value: number; unit: string; time: string } | null;
  calibrations: { id: number; time: string; kind: string; by: string; why: string; verdict: Verdict }[];
};

type Options = Record<string, string | undefined> & { dryRun?: boolean };

/** Asks the running hub, so that there is one writer and one set of checks. */
async function ask<Answer>(o: Options, terminal: Terminal, path: string, body?: unknown): Promise<Answer> {
  const place = { config: o['config'] ?? defaultConfigPath, tokenFile: o['tokenFile'] };
  const { status, text } = await askRunningHub(place, terminal, body === undefined ? 'GET' : 'POST', path, body);
  const answer = dataOf(text) as (Answer & { title?: string; detail?: string }) | undefined;
  if (status >= 400 || answer === undefined) {
    throw new VerbFailed(1, `${answer?.title ?? status}: ${answer?.detail ?? 'the hub said nothing more'}`);
  }
  return answer;
}

async function enter(o: Options, kind: string, given: Record<string, unknown>, terminal: Terminal): Promise<void> {
  const entry = {
    ...{ kind, probe: o['probe'], by: o['by'], why: o['why'] },
    ...withoutGaps({ time: o['time'], ...given }),
  };
  const isDryRun = o.dryRun === true;
  const answer = await ask<Entered>(o, terminal, `/api/calibrations?dry_run=${isDryRun}`, {
    // The same key on a second try makes it one calibration.
    ...(isDryRun ? {} : { key: randomUUID() }),
    ...entry,
  });
  for (const line of verdictLines(answer.verdict)) terminal.print(line);
  if (answer.id === null) {
    terminal.print('dry run: nothing was kept');
    return;
  }
  terminal.print(`kept as ${answer.id}, in force for readings from ${answer.in_force_from}`);
  if (answer.history_behind) {
    terminal.print(`readings after its date are stored already. To correct them:`);
    terminal.print(`  brinekeep calibrate apply ${answer.id} --from TIME --to TIME --by ${o['by']}`);
  }
}

function verdictLines({ state, reasons, ...numbers }: Verdict): string[] {
  const found = Object.entries(numbers).map(([name, value]) => `  ${name} ${Number(Number(value).toPrecision(5))}`);
  return [`verdict: ${state.replaceAll('_', ' ')}`, ...reasons.map((reason) => `  ${reason}`), ...found];
}

/** Leaves out what was not given: the hub's schema is strict. */
function withoutGaps(entry: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(entry).filter(([, value]) => value !== undefined));
}

function number(text: string | undefined, name: string): number {
  const value = Number(text);
  if (text === undefined || text.trim() === '' || !Number.isFinite(value)) {
    throw new VerbFailed(2, `${name}: found "${text ?? ''}", need a number`);
  }
  return value;
}

const pointForm = 'BUFFER,TEMPERATURE,READING such as 7.02,22.5,-3.1mV or borax,22.5,9.31';

/** A buffer by name or by the pH on its bottle, its temperature in °C, and the electrode's mV or the probe's pH in it. */
function bufferPoint(text: string): Record<string, unknown> {
  const [buffer = '', temperature, reading, ...more] = text.split(',').map((part) => part.trim());
  if (buffer === '' || reading === undefined || more.length > 0) {
    throw new VerbFailed(2, `found "${text}", need ${pointForm}`);
  }
  const potential = /^(.*?)\s*mV$/i.exec(reading)?.[1];
  return {
    ...(Number.isFinite(Number(buffer)) ? { ph: Number(buffer) } : { buffer }),
    temperature_C: number(temperature, `temperature in "${text}"`),
    ...(potential === undefined
      ? { shown_ph: number(reading, `reading in "${text}"`) }
      : { potential_mV: number(potential, `reading in "${text}"`) }),
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
      .requiredOption('--why <text>', 'why: a routine, a doubt, a new electrode')
      .option('--time <iso>', 'when it was, ISO 8601 with offset; now when left out')
      .option('--dry-run', 'give the verdict and keep nothing');

  entering('linear', 'reading = slope × what the probe sends + offset')
    .option('--slope <number>', 'without unit', '1')
    .option('--offset <number>', "in the metric's store unit", '0')
    .action((o: Options) =>
      enter(o, 'linear', { slope: number(o['slope'], '--slope'), offset: number(o['offset'], '--offset') }, terminal),
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
        throw new VerbFailed(2, 'need either --kcl or --salinity');
      }
      const optional = (name: string, text: string | undefined) =>
        text === undefined ? undefined : number(text, name);
      const seawater = () =>
        withoutGaps({
          seawater_salinity: number(o['salinity'], '--salinity'),
          salinity_sd: optional('--salinity-sd', o['salinitySd']),
        });
      return enter(
        o,
        'cell',
        {
          standard: o['kcl'] === undefined ? seawater() : { kcl: o['kcl'] },
          shown_mS_cm: number(o['shown'], '--shown'),
          standard_temperature_C: number(o['temperature'], '--temperature'),
          temperature_sd_C: optional('--temperature-sd', o['temperatureSd']),
        },
        terminal,
      );
    });

  entering('ph', 'a pH electrode in one to three buffers, each at its own temperature')
    .argument('<points...>', pointForm)
    .action((points: string[], o: Options) => enter(o, 'ph', { buffers: points.map(bufferPoint) }, terminal));

  withConfig('list', 'the calibrations of a probe, and what it sends without them')
    .requiredOption('--probe <id>', 'id of the probe')
    .action(async (o: Options) => {
      const path = `/api/calibrations?probe=${encodeURIComponent(o['probe'] ?? '')}`;
      const { wire, calibrations } = await ask<OfProbe>(o, terminal, path);
      const sends = wire === null ? 'no reading yet' : `${wire.value} ${wire.unit}`.trim();
      terminal.print(`sends ${sends}${wire === null ? '' : ` at ${wire.time}`}`);
      for (const each of calibrations) {
        terminal.print([each.id, each.time, each.kind, each.verdict.state, each.by, each.why].join('  '));
      }
    });

  withConfig('apply', 'correct the stored readings of its probe by a calibration')
    .argument('<id>', 'of the calibration')
    .requiredOption('--from <iso>', 'ISO 8601 with offset')
    .requiredOption('--to <iso>', 'ISO 8601 with offset')
    .requiredOption('--by <name>', 'who')
    .action(async (id: string, o: Options) => {
      const path = `/api/calibrations/${number(id, 'id')}/apply-to-history`;
      const body = { from: o['from'], to: o['to'], by: o['by'] };
      const done = await ask<Applied>(o, terminal, path, body);
      const derived = `${done.salinity} of salinity, ${done.specific_gravity} of specific gravity`;
      terminal.print(`corrected: ${done.readings} readings, ${derived}`);
    });
}
