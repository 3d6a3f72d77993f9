import { randomUUID } from 'node:crypto';
import { type Command, Option } from 'commander';
import type { TitrationAnswer } from '../api/titrations.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRoute, type Flags, given, hubVerbs, numberIn, numberOf, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';
import { finishTitration, guideAtTerminal, guideKeys, titrationLines } from './titration-guide.ts';

/** `brinekeep titrate …`: an alkalinity titration with a pH probe of the running hub. */
export function addTitrateVerb(program: Command, terminal: Terminal): void {
  const titrate = program.command('titrate').description('titrate alkalinity with a pH probe of the running hub');
  const verb = hubVerbs(titrate);

  async function running(o: Flags): Promise<TitrationAnswer> {
    const all = await askRoute(o, terminal, 'GET /api/titrations', {});
    const [only, other] = all.filter(({ system }) => o['system'] === undefined || system === o['system']);
    if (only === undefined)
      throw new Refused('not_done', 'no titration is running. Start one: brinekeep titrate start');
    if (other !== undefined) throw new Refused('wrong_usage', `more than one is running: name the tank with --system`);
    return only;
  }
  const ofRunning = (name: string, description: string) =>
    verb(name, description).option('--system <id>', 'its tank, where several titrations are running');

  verb('start', 'begin a titration, guided until it is finished')
    .requiredOption('--system <id>', 'the tank the sample is from')
    .option('--probe <id>', "the pH probe; the tank's when left out")
    .option('--sample-ml <mL>', 'volume of the sample')
    .option('--sample-g <g>', 'or its mass')
    .option('--sample-sd-percent <%>', 'standard uncertainty of the sample; 0.5 by volume, 0.1 by mass when left out')
    .option('--acid-mol-l <mol/L>', 'strength of the acid')
    .option('--acid-mol-kg <mol/kg>', 'or by mass')
    .option('--acid-sd-percent <%>', 'standard uncertainty of its strength; 0.5 when left out')
    .option('--acid-lot <text>', 'lot on its label')
    .addOption(new Option('--acid-by <unit>', 'how the acid is measured').choices(['ml', 'g']).default('ml'))
    .option('--acid-step <number>', 'smallest step of that scale; 0.01 when left out')
    .option('--salinity <number>', "of the sample; the tank's when left out")
    .option('--temperature <°C>', "of the sample; the tank's when left out")
    .addOption(
      new Option('--airing <way>', 'what drives the CO2 out').choices(['bubbled', 'stirred']).default('stirred'),
    )
    .option('--by <name>', 'who')
    .option('--detach', 'give the first instruction and exit; go on with acid, status and finish')
    .action(async (o: Flags & { detach?: boolean }) => {
      const body = given({
        system: o['system'],
        probe: o['probe'],
        by: o['by'],
        acid_lot: o['acidLot'],
        sample_ml: numberIn(o['sampleMl'], '--sample-ml'),
        sample_g: numberIn(o['sampleG'], '--sample-g'),
        sample_sd_percent: numberIn(o['sampleSdPercent'], '--sample-sd-percent'),
        acid_mol_l: numberIn(o['acidMolL'], '--acid-mol-l'),
        acid_mol_kg: numberIn(o['acidMolKg'], '--acid-mol-kg'),
        acid_sd_percent: numberIn(o['acidSdPercent'], '--acid-sd-percent'),
        acid_by: o['acidBy'],
        acid_step: numberIn(o['acidStep'], '--acid-step'),
        airing: o['airing'],
        salinity: numberIn(o['salinity'], '--salinity'),
        temperature_c: numberIn(o['temperature'], '--temperature'),
      });
      const begun = await askRoute(o, terminal, 'POST /api/titrations', { body });
      show(o, terminal, begun, ({ cautions }) => cautions.map((caution) => `! ${caution}`));
      if (o.detach === true || o.json === true) {
        if (o.json !== true) for (const line of titrationLines(begun)) terminal.print(line);
        return;
      }
      terminal.print(guideKeys);
      await guideAtTerminal(o, terminal, begun.id);
    });

  ofRunning('guide', 'go on with a titration that is running').action(async (o: Flags) => {
    const { id } = await running(o);
    terminal.print(guideKeys);
    await guideAtTerminal(o, terminal, id);
  });

  ofRunning('status', 'what to do now, and the result so far').action(async (o: Flags) => {
    show(o, terminal, await running(o), titrationLines);
  });

  ofRunning('acid', 'log a portion of acid added')
    .argument('<amount>', 'of this portion, in the mL or g of this run')
    .action(async (amount: string, o: Flags) => {
      const { id } = await running(o);
      const asked = { params: { id }, body: { amount: numberOf(amount, 'amount'), key: randomUUID() } };
      show(o, terminal, await askRoute(o, terminal, 'POST /api/titrations/:id/acid', asked), titrationLines);
    });

  ofRunning('undo', 'take back the last portion, if its amount was wrong').action(async (o: Flags) => {
    const asked = { params: { id: (await running(o)).id } };
    show(o, terminal, await askRoute(o, terminal, 'POST /api/titrations/:id/undo', asked), titrationLines);
  });

  ofRunning('go-on', 'do not wait for the CO2 any longer').action(async (o: Flags) => {
    const asked = { params: { id: (await running(o)).id } };
    show(o, terminal, await askRoute(o, terminal, 'POST /api/titrations/:id/go-on', asked), titrationLines);
  });

  ofRunning('finish', 'save the result as an alkalinity test, with the whole run')
    .option('--by <name>', 'who')
    .action(async (o: Flags) => finishTitration(o, terminal, (await running(o)).id, o['by']));

  ofRunning('give-up', 'abandon it and keep nothing').action(async (o: Flags) => {
    const asked = { params: { id: (await running(o)).id } };
    const { id } = await askRoute(o, terminal, 'POST /api/titrations/:id/give-up', asked);
    terminal.print(`Titration ${id} given up. Nothing was kept.`);
  });
}
