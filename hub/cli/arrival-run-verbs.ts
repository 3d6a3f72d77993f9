import type { RunAnswer } from '../api/runs.ts';
import { reagentFrom, runLines } from './arrival-words.ts';
import { askRoute, type Flags, gather, given, type HubOptions, type HubVerb, numberIn, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

type Lists = { reagent: string[]; piece: string[] };

/** `brinekeep arrival start|step|…`: a protocol, step by step. */
export function addArrivalRunVerbs(verb: HubVerb, terminal: Terminal): void {
  const showRun = (o: HubOptions, answer: RunAnswer) => show(o, terminal, answer, runLines);

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
