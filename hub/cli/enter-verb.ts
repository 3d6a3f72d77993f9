import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import { dataOf } from '../flow/calibration/json-data.ts';
import { VerbFailed } from './exit-code.ts';
import { askRunningHub, tokenFlag } from './hub-connection.ts';
import { defaultConfigPath } from './read-config.ts';
import type { Terminal } from './terminal.ts';

type Answer = {
  saved?: string;
  detail?: string;
  title?: string;
  doubt?: { typed: string; meant?: { say: string; change: Record<string, number | string> } };
};

/** The flag that gives a field of an entry. */
const flagOf: Record<string, string> = {
  ...{ value: '--value', unit: '--unit', ml: '--ml', grams: '--grams' },
  ...{
    alkalinity_dkh: '--alkalinity',
    calcium_mg_l: '--calcium',
    magnesium_mg_l: '--magnesium',
    salinity: '--salinity',
  },
};

/** Why nothing was saved, and how to save what was meant: that first, then the number as it was typed. */
function refusal(status: number, { title, detail = '', doubt }: Answer): string {
  if (doubt === undefined) return `${title ?? status}: ${detail}`;
  const { typed, meant } = doubt;
  const flags = Object.entries(meant?.change ?? {}).map(([field, value]) => `${flagOf[field]} ${quoted(value)}`);
  const toSave = meant === undefined ? '' : `To save ${meant.say}: ${flags.join(' ')}. `;
  return `${detail}\nNothing is saved. ${toSave}If it really is ${typed}: --confirmed`;
}

function quoted(value: number | string): string {
  return /^[\w.]+$/.test(String(value)) ? String(value) : `"${value}"`;
}

/** Sends an entry to the running hub, so that there is one writer and one set of checks. */
async function send(o: Options, route: string, entry: Record<string, unknown>, terminal: Terminal): Promise<void> {
  const place = { config: o['config'] ?? defaultConfigPath, tokenFile: o['tokenFile'] };
  // The same key on a second try makes it one entry.
  const { status, text } = await askRunningHub(place, terminal, 'POST', route, { key: randomUUID(), ...entry });
  const answer = (dataOf(text) ?? {}) as Answer;
  if (status >= 400) throw new VerbFailed(1, refusal(status, answer));
  terminal.print(answer.saved ?? 'Saved');
}

function number(text: string | undefined, name: string): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    throw new VerbFailed(2, `--${name}: found "${text}", need a number`);
  return value;
}

type Options = Record<string, string | undefined> & { confirmed?: boolean };

/** Leaves out what was not given: the hub's schema is strict. */
function given(entry: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(entry).filter(([, value]) => value !== undefined));
}

/** `brinekeep enter test|dose|plan|refill|water-change`: what a person measured or did, from the command line. */
export function addEnterVerb(program: Command, terminal: Terminal): void {
  const enter = program
    .command('enter')
    .description('enter a test, a dose, a dosing plan, a refill or a water change at the running hub');
  const verb = (name: string, description: string) =>
    enter
      .command(name)
      .description(description)
      .requiredOption('--system <id>', 'id of the system')
      .option('--config <file>', 'configuration of the hub', defaultConfigPath)
      .option(...tokenFlag)
      .option('--time <iso>', 'when it was, ISO 8601 with offset; now when left out')
      .option('--by <name>', 'who')
      .option('--note <text>', 'a note');
  const confirmed = ['--confirmed', 'the number was questioned and is right as given'] as const;

  verb('test', 'a test by hand')
    .requiredOption('--analyte <name>', 'alkalinity, calcium, magnesium, nitrate, phosphate, …')
    .requiredOption('--value <number>', 'as the test gave it')
    .option('--unit <unit>', 'dKH, meq/L, mg/L CaCO3, mg/L; sg for a specific gravity; the store unit when left out')
    .option('--sg-scale <scale>', 'for sg: 25/25, 20/20 or 60F/60F, as the instrument says; 25/25 when left out')
    .option('--water-temperature <°C>', 'for sg: of the water in which a glass hydrometer floated')
    .option('--sd <number>', 'standard uncertainty, in the same unit')
    .option(...confirmed)
    .action((o: Options) =>
      send(
        o,
        '/api/tests',
        given({
          ...common(o),
          analyte: o['analyte'],
          value: number(o['value'], 'value'),
          unit: o['unit'],
          sg_scale: o['sgScale'],
          water_temperature_c: number(o['waterTemperature'], 'water-temperature'),
          sd: number(o['sd'], 'sd'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );

  verb('dose', 'a dose that was given: a stock in mL, or a substance in grams')
    .option('--stock <id>', 'id of a stock of the system')
    .option('--ml <number>', 'millilitres of it')
    .option('--substance <name>', 'a substance, weighed')
    .option('--grams <number>', 'grams of it')
    .option(...confirmed)
    .action((o: Options) =>
      send(
        o,
        '/api/doses',
        given({
          ...common(o),
          stock: o['stock'],
          ml: number(o['ml'], 'ml'),
          substance: o['substance'],
          grams: number(o['grams'], 'grams'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );

  verb('plan', 'what is dosed of a stock every day from now on; 0 mL ends it')
    .requiredOption('--stock <id>', 'id of a stock of the system')
    .requiredOption('--ml-per-day <number>', 'millilitres a day')
    .option('--times-per-day <number>', 'in so many equal doses')
    .action((o: Options) =>
      send(
        o,
        '/api/plan',
        given({
          ...common(o),
          stock: o['stock'],
          ml_per_day: number(o['mlPerDay'], 'ml-per-day'),
          times_per_day: number(o['timesPerDay'], 'times-per-day'),
        }),
        terminal,
      ),
    );

  verb('refill', 'a dosing container was filled')
    .requiredOption('--stock <id>', 'id of a stock of the system')
    .option('--ml <number>', 'how full it is now; its full size when left out')
    .action((o: Options) =>
      send(o, '/api/refills', given({ ...common(o), stock: o['stock'], ml: number(o['ml'], 'ml') }), terminal),
    );

  verb('water-change', 'a water change, with what was tested of the new water')
    .requiredOption('--litres <number>', 'litres exchanged')
    .option('--alkalinity <dKH>')
    .option('--calcium <mg/L>')
    .option('--magnesium <mg/L>')
    .option('--salinity <number>')
    .option(...confirmed)
    .action((o: Options) =>
      send(
        o,
        '/api/water-changes',
        given({
          ...common(o),
          volume_l: number(o['litres'], 'litres'),
          alkalinity_dkh: number(o['alkalinity'], 'alkalinity'),
          calcium_mg_l: number(o['calcium'], 'calcium'),
          magnesium_mg_l: number(o['magnesium'], 'magnesium'),
          salinity: number(o['salinity'], 'salinity'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );
}

function common(o: Options): Record<string, unknown> {
  return { system: o['system'], time: o['time'], by: o['by'], note: o['note'] };
}
