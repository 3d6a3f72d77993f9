import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import type { ArrivalAnswer } from '../api/arrivals.ts';
import { addArrivalLightVerbs } from './arrival-light-verbs.ts';
import { addArrivalRunVerbs } from './arrival-run-verbs.ts';
import { arrivalLines, kindOf, preparedLines, sizeOf } from './arrival-words.ts';
import { askRoute, type Flags, gather, given, type HubOptions, hubVerbs, numberIn, numberOf, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

type Lists = { pieces: string[]; kind: string[] };

/** `brinekeep arrival …`: new corals, from the water made ready to the last day of their light, at the running hub. */
export function addArrivalVerbs(program: Command, terminal: Terminal): void {
  const arrival = program
    .command('arrival')
    .description('new corals: prepare, checklists with timers, pest watch, light');
  const verb = hubVerbs(arrival);
  const showArrival = (o: HubOptions, answer: ArrivalAnswer) => show(o, terminal, answer, arrivalLines);

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

  addArrivalRunVerbs(verb, terminal);
  addArrivalLightVerbs(verb, terminal);
}
