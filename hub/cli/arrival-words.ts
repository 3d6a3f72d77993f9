import type { ArrivalAnswer, PreparedAnswer } from '../api/arrivals.ts';
import type { RunAnswer } from '../api/runs.ts';
import { Refused } from '../model/refusals/refused.ts';
import { numberOf } from './ask-hub.ts';

/** Short forms of flags about arrivals, and the hub's answers in lines. */

/** `6x5`: six pieces of 5 cm. */
export function sizeOf(text: string): { count: number; longest_cm: number } {
  const [, count, size] = /^(\d+)x([\d.]+)$/.exec(text) ?? [];
  if (count === undefined || size === undefined)
    throw new Refused('wrong_usage', `--pieces: found "${text}", need count x longest side in cm, such as 6x5`);
  return { count: Number(count), longest_cm: numberOf(size, '--pieces') };
}

/** `acropora=6x5`, or `acropora=6` without a size. */
export function kindOf(text: string): { kind: string; count: number; longest_cm?: number } {
  const [, kind, rest] = /^([^=]+)=(.+)$/.exec(text) ?? [];
  if (kind === undefined || rest === undefined)
    throw new Refused(
      'wrong_usage',
      `--kind: found "${text}", need kind=count or kind=count x cm, such as acropora=6x5`,
    );
  return { kind, ...(rest.includes('x') ? sizeOf(rest) : { count: numberOf(rest, '--kind') }) };
}

/** `iodine=2` mL/L, with the label's range `iodine=2:1-3`. */
export function reagentFrom(text: string): Record<string, unknown> {
  const [, name, dose, range] = /^([^=]+)=([^:]+)(?::(.+))?$/.exec(text) ?? [];
  if (name === undefined || dose === undefined)
    throw new Refused(
      'wrong_usage',
      `--reagent: found "${text}", need name=mL/L or name=mL/L:low-high, such as iodine=2:1-3`,
    );
  const [low, high] = range?.split('-') ?? [];
  const label =
    low === undefined || high === undefined
      ? {}
      : { label: { low_ml_l: numberOf(low, '--reagent'), high_ml_l: numberOf(high, '--reagent') } };
  return { name, dose_ml_l: numberOf(dose, '--reagent'), ...label };
}

/** `10=60`: PAR 60 at 10 cm. */
export function placeOf(text: string): { height_cm: number; par: number } {
  const [, height, par] = /^([^=]+)=(.+)$/.exec(text) ?? [];
  if (height === undefined || par === undefined)
    throw new Refused('wrong_usage', `--par: found "${text}", need height in cm = PAR, such as 10=60`);
  return { height_cm: numberOf(height, '--par'), par: numberOf(par, '--par') };
}

const litres = (value: number) => `${value.toFixed(2)} L`;

export function preparedLines(water: PreparedAnswer): string[] {
  return [
    `${water.baths} dip ${water.baths === 1 ? 'bath' : 'baths'} of ${litres(water.bath_l)}: ${litres(water.tank_l)} from the tank, ${litres(water.bag_l)} from the bags in all`,
    `new salt water ${litres(water.fresh_l)}: ${litres(water.replace_l)} to replace what the dip takes, ${litres(water.rinse_l)} to rinse, ${litres(water.spare_l)} spare`,
    `${water.salt_g.toFixed(0)} g of salt for salinity ${water.salinity.toFixed(1)}`,
    `start ${water.lead_hours.toFixed(0)} h before${water.start_by === null ? '' : `: ${water.start_by}`}`,
    ...water.warnings.map((warning) => `! ${warning}`),
  ];
}

export function runLines(run: RunAnswer): string[] {
  if (run.is_finished) return [`${run.id}: all steps are done`];
  const minutes = run.steps[run.step - 1]?.minutes;
  const time =
    run.timer !== null
      ? `, ${Math.ceil(run.timer.left_seconds / 60)} min left, until ${run.timer.ends}`
      : typeof minutes === 'number'
        ? `, ${minutes} min, timer not started`
        : '';
  const { bath } = run;
  const volumes =
    bath === null
      ? []
      : [
          `  ${litres(bath.tank_l)} from the tank + ${litres(bath.bag_l)} from the bags`,
          ...bath.reagents.map(({ name, volume_ml }) => `  ${name}: ${volume_ml.toFixed(1)} mL`),
          `  afterwards ${litres(bath.replace_l)} of new salt water into the tank, ${litres(bath.rinse_l)} to rinse`,
          ...bath.cautions.map((caution) => `  ! ${caution}`),
        ];
  const cautions = bath === null ? run.cautions.map((caution) => `  ! ${caution}`) : [];
  return [
    `${run.id}: step ${run.step} of ${run.steps.length}, ${run.words}${time}`,
    ...volumes,
    ...cautions,
    ...(run.bath_check?.warnings ?? []).map((warning) => `  !! ${warning}`),
    ...(run.new_water?.metrics ?? []).map(({ text }) => `  ${text}`),
  ];
}

export function arrivalLines(arrival: ArrivalAnswer): string[] {
  const when = arrival.arrived ?? arrival.expected ?? '(no date)';
  const { watch, light, quarantine } = arrival;
  const today = light?.days[Math.min(light.today, light.days.length) - 1];
  return [
    `${arrival.id} ${arrival.name}, ${arrival.system}: ${arrival.state} ${when}`,
    ...(arrival.runs.length === 0 ? [] : [`  checklists: ${arrival.runs.join(', ')}`]),
    ...(quarantine === null
      ? []
      : [
          `  quarantine: ${quarantine.days} days${quarantine.ends === null ? '' : `, to ${quarantine.ends.slice(0, 10)}`}`,
        ]),
    ...(watch === null ? [] : [`  watch: ${watch.text}`, ...watch.warnings.map((warning) => `  ! ${warning}`)]),
    ...(watch?.tasks ?? []).map(
      ({ kind, due, opens, closes, state }) =>
        `  ${due.slice(0, 10)} ${kind} ${state}${opens === null || closes === null ? '' : ` (${opens.slice(0, 10)} to ${closes.slice(0, 10)})`}`,
    ),
    ...(light === null || today === undefined
      ? []
      : [
          `  light: day ${light.today} of ${light.days.length}, rack at ${today.height_cm} cm, PAR ${today.par.toFixed(0)}, ${today.dli.toFixed(1)} mol/m² a day`,
        ]),
    ...(arrival.demand === null ? [] : [`  use: ${arrival.demand.text}`]),
  ];
}

export function lightLines(arrival: ArrivalAnswer): string[] {
  const { light } = arrival;
  if (light === null) return [`${arrival.id} has no light plan`];
  return [
    ...light.days.map(
      ({ day, date, height_cm, par, dli }) =>
        `${date} day ${day}: ${height_cm} cm, PAR ${par.toFixed(0)}, ${dli.toFixed(2)} mol/m² a day${day === light.today ? '  <- today' : ''}`,
    ),
    ...light.cautions.map((caution) => `! ${caution}`),
  ];
}
