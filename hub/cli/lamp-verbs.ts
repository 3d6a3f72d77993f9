import type { Command } from 'commander';
import type { AnswerOf } from '../api/contract.ts';
import { pairFlag } from '../reports/calc/light.ts';
import { askRoute, type HubOptions, hubVerbs, numberIn, numberOf, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

type LampOptions = HubOptions & { on: string; fullHours: string; rampUpHours?: string; rampDownHours?: string };
type ParOptions = HubOptions & { par: string[] };
type LightAnswer = AnswerOf<'GET /api/light/:system'>;

/** `brinekeep lamp …`: what lights a system, its PAR by height, and how to bring in a new lamp, at the running hub. */
export function addLampVerbs(program: Command, terminal: Terminal): void {
  const lamp = program.command('lamp').description('lamps, PAR by height, daily light of each piece');
  const verb = hubVerbs(lamp);
  const told = (o: HubOptions, answer: LightAnswer) => show(o, terminal, answer, lines);

  verb('show', "a system's light, and the setting of a new lamp day by day")
    .argument('<system>')
    .action(async (system: string, o: HubOptions) =>
      told(o, await askRoute(o, terminal, 'GET /api/light/:system', { params: { system } })),
    );

  verb('hang', 'log a new lamp, or new hours for one')
    .argument('<system>')
    .argument('<name>', 'the same name again: the same lamp with new hours')
    .requiredOption('--on <HH:MM>', 'local time at which it starts to ramp up')
    .requiredOption('--full-hours <hours>', 'hours at full light')
    .option('--ramp-up-hours <hours>', 'from dark to full')
    .option('--ramp-down-hours <hours>', 'from full to dark')
    .action(async (system: string, name: string, o: LampOptions) => {
      const body = {
        name,
        on_at: o.on,
        full_hours: numberOf(o.fullHours, '--full-hours'),
        ramp_up_hours: numberIn(o.rampUpHours, '--ramp-up-hours') ?? 0,
        ramp_down_hours: numberIn(o.rampDownHours, '--ramp-down-hours') ?? 0,
      };
      told(o, await askRoute(o, terminal, 'POST /api/light/:system/lamp', { params: { system }, body }));
    });

  verb('par', 'log PAR measured under the lamp')
    .argument('<system>')
    .requiredOption(
      '--par <cm=PAR>',
      'at full light, such as 10=60; repeatable',
      (flag: string, before: string[]) => [...before, flag],
      [],
    )
    .action(async (system: string, o: ParOptions) => {
      const places = o.par.map(pairFlag).map(({ height_cm, par_umol_m2_s }) => ({ height_cm, par: par_umol_m2_s }));
      told(o, await askRoute(o, terminal, 'POST /api/light/:system/par', { params: { system }, body: { places } }));
    });

  verb('rack', 'redo the light plan of an arrival for the present lamp')
    .argument('<system>')
    .argument('<arrival>')
    .action(async (system: string, id: string, o: HubOptions) => {
      const answer = await askRoute(o, terminal, 'POST /api/light/:system/arrivals/:id', { params: { system, id } });
      show(o, terminal, answer, ({ days }) =>
        days.map(
          ({ day, height_cm, par, dli }) =>
            `day ${day}: ${height_cm} cm, PAR ${par.toFixed(0)}, ${dli.toFixed(1)} mol/m² a day`,
        ),
      );
    });
}

function lines({ text, places, pieces, change, cautions }: LightAnswer): string[] {
  const lit = ({ height_cm, par, dli }: LightAnswer['places'][number]): string =>
    `${height_cm} cm: PAR ${par.toFixed(0)}, ${dli.toFixed(1)} mol/m² a day`;
  return [
    ...text,
    ...places.map((place) => `  ${lit(place)}`),
    ...pieces.map((piece) => `  ${piece.id} ${piece.kind}, ${lit(piece)}`),
    ...(change === null || change.days.length === 1
      ? []
      : change.days.map(
          ({ day, share }) => `  day ${day}: ${(100 * share).toFixed(0)} %${day === change.today ? '  <- today' : ''}`,
        )),
    ...cautions.map((caution) => `! ${caution}`),
  ];
}
