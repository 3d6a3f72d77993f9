import { mostDailyRatio } from '#rules/arrivals/light-plan.ts';
import type { LightNow } from './lamps.ts';

const percent = (share: number): string => (100 * share).toFixed(0);

/** The light of a system in sentences. */
export function lightWords(
  { lamp, places, pieces, change }: Pick<LightNow, 'lamp' | 'places' | 'pieces' | 'change'>,
  placed: number,
): Pick<LightNow, 'text'> {
  if (lamp === undefined)
    return { text: ['No lamp entered yet: its hours and PAR give the daily light of each piece.'] };
  const { fullHours, rampUpHours = 0, rampDownHours = 0 } = lamp.day;
  const text = [
    `${lamp.name}, on at ${lamp.onAt}: ${rampUpHours} h ramp up, ${fullHours} h full light, ${rampDownHours} h ramp down.`,
  ];
  if (places.length < 2) text.push('Measure PAR at two heights or more under this lamp.');
  else {
    const [low, high] = [places[0]!, places.at(-1)!];
    text.push(
      `Daily light ${low.dli_mol_m2.toFixed(1)} mol/m² at ${low.height_cm} cm to ${high.dli_mol_m2.toFixed(1)} at ${high.height_cm} cm.`,
    );
    const outside = placed - pieces.length;
    if (outside > 0) text.push(`${outside} of ${placed} placed pieces are above or below the heights measured.`);
  }
  if (change !== undefined) text.push(changeWords(change));
  return { text };
}

function changeWords({ heights, days, today, from }: NonNullable<LightNow['change']>): string {
  const most = heights.reduce((a, b) => (b.ratio > a.ratio ? b : a));
  if (days.length === 1)
    return most.ratio > 1
      ? `As bright as ${from} was: nothing to dim.`
      : `No brighter than ${from} (${percent(most.ratio)} % of its daily light at ${most.height_cm} cm): nothing to dim.`;
  const set = days[today - 1];
  const start = `Undimmed it gives ${percent(most.ratio)} % of ${from}’s daily light at ${most.height_cm} cm.`;
  if (set === undefined) return `${start} Its ${days.length} days of dimming are over.`;
  return `${start} Today set it to ${percent(set.share)} % (day ${today} of ${days.length}); at most ${percent(mostDailyRatio - 1)} % more each day.`;
}
