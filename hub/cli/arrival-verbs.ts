import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import type { ArrivalAnswer } from '../api/arrivals.ts';
import type { RunAnswer } from '../api/runs.ts';
import {
  arrivalLines,
  kindOf,
  lightLines,
  placeOf,
  preparedLines,
  reagentFrom,
  runLines,
  sizeOf,
} from './arrival-words.ts';
import { askRoute, gather, given, type HubOptions, numberIn, numberOf, show, withHubOptions } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

type Flags = HubOptions & Record<string, string | undefined>;
type Lists = { pieces: string[]; kind: string[]; reagent: string[]; par: string[]; piece: string[] };

/** `brinekeep arrival …`: new corals, from the water made ready to the last day of their light, at the running hub. */
export function addArrivalVerbs(program: Command, terminal: Terminal): void {
  const arrival = program
    .command('arrival')
    .description('new corals: prepare, checklists with timers, pest watch, light');
  const verb = (name: string, description: string) => withHubOptions(arrival.command(name).description(description));
  const showArrival = (o: HubOptions, answer: ArrivalAnswer) => show(o, terminal, answer, arrivalLines);
  const showRun = (o: HubOptions, answer: RunAnswer) => show(o, terminal, answer, runLines);

  verb('prepare', 'water, salt and time to have ready')
    .requiredOption('--system <id>', 'the tank they go into')
    .requiredOption('--pieces <countxcm>', 'such as 6x5; repeat it for other sizes', gather, [])
    .requiredOption('--vessel <litres>', 'largest vessel for a dip bath')
    .option('--bag-water <litres>', 'water that comes in the bags')
    .option('--tank-share <share>', 'share of the bath that comes from the tank, 0.5 to 1')
    .option('--salinity <number>', "the tank's, by its probe or test, when left out")
    .option('--salt <name>', 'a salt that you logged batches of')
    .option('--grams-per-litre <g>', 'salt per litre for salinity 35, from its label')
    .option('--warm-from <celsius>', 'temperature of the water before it is warmed')
    .option('--heater <watts>', 'power of the heater, with --warm-from')
    .option('--expected <iso>', 'when the corals are due')
    .action(async (o: Flags & Lists) => {
      const warm =
        o['warmFrom'] === undefined
          ? undefined
          : { from_c: numberOf(o['warmFrom'], '--warm-from'), heater_w: numberOf(o['heater'] ?? '', '--heater') };
      const body = given({
        system: o['system'],
        pieces: o.pieces.map(sizeOf),
        vessel_l: numberIn(o['vessel'], '--vessel'),
        bag_water_l: numberIn(o['bagWater'], '--bag-water'),
        salinity: numberIn(o['salinity'], '--salinity'),
        tank_share: numberIn(o['tankShare'], '--tank-share'),
        salt: o['salt'],
        warm,
        expected: o['expected'],
        grams_per_litre_at_35: numberIn(o['gramsPerLitre'], '--grams-per-litre'),
      });
      const answer = await askRoute(o, terminal, 'POST /api/arrivals/prepare', { body });
      show(o, terminal, answer, preparedLines);
    });

  verb('new', 'log new corals: expected, or here with --arrived')
    .requiredOption('--system <id>', 'the tank they go into')
    .requiredOption('--name <text>', 'your name for this arrival')
    .option('--kind <kind=countxcm>', 'such as acropora=6x5; repeatable', gather, [])
    .option('--source <text>', 'where they come from')
    .option('--expected <iso>')
    .option('--arrived <iso>')
    .option('--pest <id>', 'id of a pest; the page lists them, and so does the error after a wrong id')
    .action(async (o: Flags & Lists) => {
      const body = given({
        key: randomUUID(),
        system: o['system'],
        name: o['name'],
        source: o['source'],
        pieces: o.kind.map(kindOf),
        expected: o['expected'],
        arrived: o['arrived'],
        pest: o['pest'],
      });
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals', { body }));
    });

  verb('list', 'all arrivals').action(async (o: Flags) => {
    const answer = await askRoute(o, terminal, 'GET /api/arrivals', {});
    show(o, terminal, answer, (all) => all.flatMap((each) => arrivalLines(each).slice(0, 2)));
  });

  verb('show', 'one arrival: inspection and dip dates, light, what it uses')
    .argument('<id>')
    .action(async (id: string, o: Flags) =>
      showArrival(o, await askRoute(o, terminal, 'GET /api/arrivals/:id', { params: { id } })),
    );

  verb('arrived', 'log that they are here')
    .argument('<id>')
    .option('--time <iso>')
    .action(async (id: string, o: Flags) => {
      const body = given({ time: o['time'] });
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/arrived', { params: { id }, body }));
    });

  verb('close', 'close an arrival: its care is over')
    .argument('<id>')
    .action(async (id: string, o: Flags) =>
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/close', { params: { id } })),
    );

  verb('delete', 'delete one entered by mistake')
    .argument('<id>')
    .action(async (id: string, o: Flags) => {
      await askRoute(o, terminal, 'DELETE /api/arrivals/:id', { params: { id } });
      terminal.print(`${id} deleted`);
    });

  verb('pest', 'log the pest that was found')
    .argument('<id>')
    .argument('<pest>', 'id of a pest; the page lists them, and so does the error after a wrong id')
    .action(async (id: string, pest: string, o: Flags) =>
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/pest', { params: { id }, body: { pest } })),
    );

  verb('quarantine', 'set how many days they stay in quarantine after arriving')
    .argument('<id>')
    .argument('<days>', '0 ends it')
    .action(async (id: string, days: string, o: Flags) => {
      const body = { days: numberIn(days, '<days>') };
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/quarantine', { params: { id }, body }));
    });

  verb('inspected', 'log an inspection with its findings')
    .argument('<id>')
    .requiredOption('--findings <text>')
    .option('--look-again <days>', 'days until you look again, if you saw something')
    .option('--time <iso>')
    .action(async (id: string, o: Flags) => {
      const again = numberIn(o['lookAgain'], '--look-again');
      const body = given({ findings: o['findings'], time: o['time'], look_again_days: again });
      showArrival(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/inspections', { params: { id }, body }));
    });

  verb('shock', 'compare the bag water with the tank')
    .argument('<id>')
    .option('--temperature <celsius>')
    .option('--salinity <number>')
    .option('--ph <number>')
    .option('--litres <litres>', 'water in the bags')
    .option('--ammonia <mg/L>', 'total ammonia as nitrogen')
    .action(async (id: string, o: Flags) => {
      const bag = given({
        temperature: numberIn(o['temperature'], '--temperature'),
        salinity: numberIn(o['salinity'], '--salinity'),
        ph: numberIn(o['ph'], '--ph'),
        litres: numberIn(o['litres'], '--litres'),
        total_ammonia_mg_l_n: numberIn(o['ammonia'], '--ammonia'),
      });
      const answer = await askRoute(o, terminal, 'POST /api/arrivals/:id/shock', { params: { id }, body: { bag } });
      show(o, terminal, answer, ({ ammonia, plan }) => [
        ...plan.warnings.map((warning) => `! ${warning}`),
        ...(ammonia === null ? [] : [ammonia.text]),
        ...plan.steps.map(({ step, minutes, litres }) =>
          litres === null ? `${step} ${minutes} min` : `${step} ${litres.toFixed(2)} L, then wait ${minutes} min`,
        ),
      ]);
    });

  addRunVerbs(verb, terminal, showRun);
  addLightVerbs(verb, terminal);
}

type Verb = (name: string, description: string) => Command;

function addRunVerbs(verb: Verb, terminal: Terminal, showRun: (o: HubOptions, answer: RunAnswer) => void): void {
  verb('start', 'start a protocol')
    .argument('<id>')
    .requiredOption('--protocol <id>', 'dip_and_inspect, repeat_dip, acclimate_only or one of your own')
    .option('--bath <litres>', 'volume of each dip bath')
    .option('--tank-share <share>')
    .option('--reagent <name=mL/L:low-high>', "dose from the label, and the label's range; repeatable", gather, [])
    .option('--soak <minutes>', 'from the label')
    .option('--rinse <litres>')
    .option('--bath-probes <system>', 'a configured system whose probes are in the bath')
    .option('--batch <id>', 'new salt water for the rinse bath')
    .option('--piece <id>', 'a registered piece; repeatable', gather, [])
    .action(async (id: string, o: Flags & Lists) => {
      const bath = given({
        bath_l: numberIn(o['bath'], '--bath'),
        tank_share: numberIn(o['tankShare'], '--tank-share'),
        ...(o.reagent.length === 0 ? {} : { reagents: o.reagent.map(reagentFrom) }),
      });
      const body = given({
        protocol: o['protocol'],
        baths: Object.keys(bath).length === 0 ? [] : [bath],
        soak_minutes: numberIn(o['soak'], '--soak'),
        rinse_l: numberIn(o['rinse'], '--rinse'),
        bath_probes: o['bathProbes'],
        batch: o['batch'],
        pieces: o.piece,
      });
      showRun(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/runs', { params: { id }, body }));
    });

  verb('step', 'show the step at hand')
    .argument('<run>')
    .action(async (id: string, o: Flags) =>
      showRun(o, await askRoute(o, terminal, 'GET /api/runs/:run', { params: { run: id } })),
    );

  verb('timer', 'start the timer of the step at hand')
    .argument('<run>')
    .action(async (id: string, o: Flags) =>
      showRun(o, await askRoute(o, terminal, 'POST /api/runs/:run/timer', { params: { run: id } })),
    );

  verb('done', 'mark the step at hand as done')
    .argument('<run>')
    .option('--findings <text>', 'what you saw')
    .option('--early', 'end a step before its time is up')
    .action(async (id: string, o: Flags & { early?: boolean }) => {
      const body = given({ findings: o['findings'], early: o.early });
      showRun(o, await askRoute(o, terminal, 'POST /api/runs/:run/done', { params: { run: id }, body }));
    });

  verb('bath-water', 'log what you measured in the bath before the pieces go in')
    .argument('<run>')
    .option('--temperature <celsius>')
    .option('--salinity <number>')
    .option('--ph <number>')
    .option('--bag-temperature <celsius>', 'measured in the bags')
    .option('--bag-salinity <number>')
    .option('--bag-ph <number>')
    .action(async (id: string, o: Flags) => {
      const body = given({
        temperature: numberIn(o['temperature'], '--temperature'),
        ph: numberIn(o['ph'], '--ph'),
        salinity: numberIn(o['salinity'], '--salinity'),
      });
      const bag = given({
        temperature: numberIn(o['bagTemperature'], '--bag-temperature'),
        ph: numberIn(o['bagPh'], '--bag-ph'),
        salinity: numberIn(o['bagSalinity'], '--bag-salinity'),
      });
      if (Object.keys(bag).length > 0) body['bag'] = bag;
      const answer = await askRoute(o, terminal, 'POST /api/runs/:run/bath-water', { params: { run: id }, body });
      show(o, terminal, answer, ({ warnings }) => (warnings.length === 0 ? ['the bath matches the tank'] : warnings));
    });

  verb('give-up', 'abandon a protocol')
    .argument('<run>')
    .action(async (id: string, o: Flags) => {
      await askRoute(o, terminal, 'DELETE /api/runs/:run', { params: { run: id } });
      terminal.print(`${id} abandoned`);
    });
}

function addLightVerbs(verb: Verb, terminal: Terminal): void {
  const showLight = (o: HubOptions, answer: ArrivalAnswer) => show(o, terminal, answer, lightLines);

  verb('light', 'make the light plan')
    .argument('<id>')
    .requiredOption('--par <cm=PAR>', 'measured at full light, such as 10=60; twice or more', gather, [])
    .option('--attenuation <per metre>', 'with one --par only')
    .option('--highest <cm>', 'with --attenuation: how high the rack may go')
    .requiredOption('--full-hours <hours>', 'hours at full light')
    .option('--ramp-up <hours>')
    .option('--ramp-down <hours>')
    .option('--start <PAR>')
    .requiredOption('--target <PAR>')
    .option('--days <days>')
    .option('--steps <kind>', 'equal_steps or equal_ratios')
    .option('--first-day <date>')
    .action(async (id: string, o: Flags & Lists) => {
      const pairs = o.par.map(placeOf);
      const attenuation_per_m = numberIn(o['attenuation'], '--attenuation');
      const [only] = pairs;
      const profile =
        attenuation_per_m === undefined || only === undefined
          ? { pairs }
          : given({ at: only, attenuation_per_m, highest_cm: numberIn(o['highest'], '--highest') });
      const day = given({
        full_hours: numberIn(o['fullHours'], '--full-hours'),
        ramp_up_hours: numberIn(o['rampUp'], '--ramp-up'),
        ramp_down_hours: numberIn(o['rampDown'], '--ramp-down'),
      });
      const start = numberIn(o['start'], '--start');
      const body = given({
        profile,
        day,
        target: { par: numberIn(o['target'], '--target') },
        days: numberIn(o['days'], '--days'),
        start: start === undefined ? undefined : { par: start },
        steps: o['steps'],
        first_day: o['firstDay'],
      });
      showLight(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/light', { params: { id }, body }));
    });

  verb('hold', "stay at today's light")
    .argument('<id>')
    .option('--days <days>')
    .action(async (id: string, o: Flags) => {
      const body = given({ for_days: numberIn(o['days'], '--days') });
      showLight(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/light/hold', { params: { id }, body }));
    });

  verb('step-back', 'go back to the light of some days ago')
    .argument('<id>')
    .option('--by <days>')
    .option('--days <days>', 'how long to stay there')
    .action(async (id: string, o: Flags) => {
      const body = given({ by_days: numberIn(o['by'], '--by'), for_days: numberIn(o['days'], '--days') });
      showLight(o, await askRoute(o, terminal, 'POST /api/arrivals/:id/light/step-back', { params: { id }, body }));
    });
}
