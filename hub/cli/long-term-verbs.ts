import type { Command } from 'commander';
import { metricFacts } from '#rules/quantity/metric.ts';
import { askRoute, type HubOptions, hubVerbs, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

/** `brinekeep long-term …`: what shows only over weeks and months, from the running hub. */
export function addLongTermVerbs(program: Command, terminal: Terminal): void {
  const group = program.command('long-term').description('what shows only over weeks and months');
  const verb = hubVerbs(group);

  verb('volume', 'the water volume learned from doses and tests, beside the stated one')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/volume/:system', { params: { system } });
      show(o, terminal, answer, ({ text, by_analyte }) => [
        text,
        ...by_analyte
          .filter(({ is_learned }) => is_learned)
          .map(
            ({ analyte, litres, low95_l, high95_l, tests }) =>
              `  by ${analyte}: ${litres.toFixed(0)} L (${low95_l.toFixed(0)} to ${high95_l.toFixed(0)}), ${tests} tests`,
          ),
      ]);
    });

  verb('nutrients', 'nitrate, phosphate and their ratio, with intervals')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/nutrients/:system', { params: { system } });
      show(o, terminal, answer, ({ text }) => [text]);
    });

  verb('sources', 'lime water, calcium reactor, balanced salts: what each adds a day')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/sources/:system', { params: { system } });
      show(o, terminal, answer, (all) => [
        ...(all.length === 0 ? ['None. A source is a stock with top_off or effluent in the configuration.'] : []),
        ...all.map(({ text }) => text),
        ...new Set(all.flatMap(({ cautions }) => cautions.map((caution) => `! ${caution}`))),
      ]);
    });

  verb('gas', 'pH and saturation through the day, gas exchange, and how much of a low pH is due to room air')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/gas/:system', { params: { system } });
      show(o, terminal, answer, ({ text, cautions }) => [...text, ...cautions.map((caution) => `! ${caution}`)]);
    });

  verb('ions', 'what dosing leaves in the water over months, and the water changes that hold it down')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/ions/:system', { params: { system } });
      show(o, terminal, answer, ({ text }) => text);
    });

  verb('months', 'when use outgrows pumps, lime water, containers and water changes')
    .argument('<system>')
    .action(async (system: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'GET /api/months-ahead/:system', { params: { system } });
      show(o, terminal, answer, ({ text, growth, outgrown }) => [
        ...(outgrown.length === 0 ? [text] : outgrown.map((each) => each.text)),
        ...growth.map(
          ({ analyte, percent_per_month, low95, high95 }) =>
            `  ${metricFacts[analyte].label} use ${percent_per_month < 0 ? 'fell' : 'rose'} ${Math.abs(percent_per_month).toFixed(0)} % a month (${low95.toFixed(0)} to ${high95.toFixed(0)})`,
        ),
      ]);
    });
}
