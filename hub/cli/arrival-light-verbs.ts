import type { ArrivalAnswer } from '../api/arrivals.ts';
import { lightLines, placeOf } from './arrival-words.ts';
import { askRoute, type Flags, gather, given, type HubOptions, type HubVerb, numberIn, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

/** `brinekeep arrival light|hold|step-back`: the light of their first weeks. */
export function addArrivalLightVerbs(verb: HubVerb, terminal: Terminal): void {
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
    .action(async (id: string, o: Flags & { par: string[] }) => {
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
