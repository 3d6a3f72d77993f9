import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import { askRoute, given, type HubProblem, numberIn, wordsOfProblem } from './ask-hub.ts';
import { tokenFlag } from './hub-connection.ts';
import { defaultConfigPath } from './read-config.ts';
import type { Terminal } from './terminal.ts';

/** The flag that gives a field of an entry. */
const flagOf: Record<string, string> = {
  value: '--value',
  unit: '--unit',
  ml: '--ml',
  grams: '--grams',
  alkalinity_dkh: '--alkalinity',
  calcium_mg_l: '--calcium',
  magnesium_mg_l: '--magnesium',
  salinity: '--salinity',
};

/** Why nothing was saved, and how to save what was meant: that first, then the number as it was typed. */
function refusal({ title, detail, doubt }: HubProblem): string {
  if (doubt === undefined) return wordsOfProblem({ title, detail });
  const { typed, meant } = doubt;
  const flags = Object.entries(meant?.change ?? {}).map(([field, value]) => `${flagOf[field]} ${quoted(value)}`);
  const toSave = meant === undefined ? '' : `To save ${meant.say}: ${flags.join(' ')}. `;
  return `${detail}\nNothing is saved. ${toSave}If it really is ${typed}: --confirmed`;
}

function quoted(value: number | string): string {
  return /^[\w.]+$/.test(String(value)) ? String(value) : `"${value}"`;
}

type EntryRoute =
  | 'POST /api/tests'
  | 'POST /api/doses'
  | 'POST /api/plan'
  | 'POST /api/refills'
  | 'POST /api/water-changes';

/** Sends an entry to the running hub, so that there is one writer and one set of checks. */
async function send(o: Options, route: EntryRoute, entry: Record<string, unknown>, terminal: Terminal): Promise<void> {
  const hub = { config: o['config'] ?? defaultConfigPath, tokenFile: o['tokenFile'] };
  // The same key on a second try makes it one entry.
  const { saved } = await askRoute(hub, terminal, route, { body: { key: randomUUID(), ...entry } }, refusal);
  terminal.print(saved);
}

type Options = Record<string, string | undefined> & { confirmed?: boolean };

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
  const confirmed = ['--confirmed', 'the number was queried and is right as given'] as const;

  verb('test', 'log a test done by hand')
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
        'POST /api/tests',
        given({
          ...common(o),
          analyte: o['analyte'],
          value: numberIn(o['value'], '--value'),
          unit: o['unit'],
          sg_scale: o['sgScale'],
          water_temperature_c: numberIn(o['waterTemperature'], '--water-temperature'),
          sd: numberIn(o['sd'], '--sd'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );

  verb('dose', 'log a dose that was given: a stock in mL, or a substance in grams')
    .option('--stock <id>', 'id of a stock of the system')
    .option('--ml <number>', 'millilitres of it')
    .option('--substance <name>', 'a substance weighed dry')
    .option('--grams <number>', 'grams of it')
    .option(...confirmed)
    .action((o: Options) =>
      send(
        o,
        'POST /api/doses',
        given({
          ...common(o),
          stock: o['stock'],
          ml: numberIn(o['ml'], '--ml'),
          substance: o['substance'],
          grams: numberIn(o['grams'], '--grams'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );

  verb('plan', 'set the daily dose of a stock from now on; 0 mL ends it')
    .requiredOption('--stock <id>', 'id of a stock of the system')
    .requiredOption('--ml-per-day <number>', 'millilitres a day')
    .option('--times-per-day <number>', 'split into this many equal doses')
    .action((o: Options) =>
      send(
        o,
        'POST /api/plan',
        given({
          ...common(o),
          stock: o['stock'],
          ml_per_day: numberIn(o['mlPerDay'], '--ml-per-day'),
          times_per_day: numberIn(o['timesPerDay'], '--times-per-day'),
        }),
        terminal,
      ),
    );

  verb('refill', 'log a refilled dosing container')
    .requiredOption('--stock <id>', 'id of a stock of the system')
    .option('--ml <number>', 'how much is in it now; full when left out')
    .action((o: Options) =>
      send(o, 'POST /api/refills', given({ ...common(o), stock: o['stock'], ml: numberIn(o['ml'], '--ml') }), terminal),
    );

  verb('water-change', 'log a water change, with tests of the new water')
    .requiredOption('--litres <number>', 'litres exchanged')
    .option('--alkalinity <dKH>')
    .option('--calcium <mg/L>')
    .option('--magnesium <mg/L>')
    .option('--salinity <number>')
    .option(...confirmed)
    .action((o: Options) =>
      send(
        o,
        'POST /api/water-changes',
        given({
          ...common(o),
          volume_l: numberIn(o['litres'], '--litres'),
          alkalinity_dkh: numberIn(o['alkalinity'], '--alkalinity'),
          calcium_mg_l: numberIn(o['calcium'], '--calcium'),
          magnesium_mg_l: numberIn(o['magnesium'], '--magnesium'),
          salinity: numberIn(o['salinity'], '--salinity'),
          confirmed: o.confirmed,
        }),
        terminal,
      ),
    );
}

function common(o: Options): Record<string, unknown> {
  return { system: o['system'], time: o['time'], by: o['by'], note: o['note'] };
}
