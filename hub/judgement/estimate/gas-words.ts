import { outdoorAir_ppm } from '#rules/seawater/gas-exchange.ts';
import { spokenDate } from '../../model/calendar/local-day.ts';
import type { GasNow, NightLow } from './gas-now.ts';

/** Limit of CO2 for eight hours of work in the air of the EU, and a room that people call stuffy, ppm. @source Directive 2006/15/EC; the second common practice, no published source */
const roomLimit = { work_ppm: 5000, stuffy_ppm: 1500 };

const two = (value: number): string => value.toFixed(2);
const one = (value: number): string => (value < 10 ? value.toFixed(1) : value.toFixed(0));

/** The day's course, the gas exchange and the causes of a low pH, a sentence or two each. */
export function gasWords(
  { ph, aragonite, transfer, halfLife_h: half, lowPh, room_ppm, isLightTold }: Omit<GasNow, 'text' | 'cautions'>,
  zone: string,
): Pick<GasNow, 'text' | 'cautions'> {
  const lowestWords = ({ value, timeMs }: NightLow): string => `lowest ${two(value)} (${spokenDate(timeMs, zone)})`;
  const spread = (course: NonNullable<GasNow['ph']>['course']): string =>
    `${two(Math.min(...course.map(({ mean }) => mean)))} to ${two(Math.max(...course.map(({ mean }) => mean)))}`;
  const text: string[] = [];
  if (ph !== undefined) text.push(`pH ${spread(ph.course)} on a typical day this week, ${lowestWords(ph.lowest)}.`);
  if (aragonite !== undefined)
    text.push(`Aragonite saturation ${spread(aragonite.course)}, ${lowestWords(aragonite.lowest)}.`);
  if (transfer === undefined)
    text.push(
      `Gas exchange is not known yet: it takes five nights of pH readings and tested alkalinity${isLightTold ? '' : ', and the lamp hours, which nobody has entered'}. Until then doses are judged as in a typical tank.`,
    );
  else
    text.push(
      `Gas exchange: ${two(transfer.coefficient_per_h)} per hour (95 %: ${two(transfer.low95)} to ${two(transfer.high95)}), from ${transfer.nights} nights.` +
        (half === undefined
          ? ''
          : ` Half of what a dose does to pH is gone after about ${one(half.likely)} h (${one(half.low95)} to ${one(half.high95)}).`) +
        (transfer.isWellKnown
          ? ''
          : ' Too wide to relax any limit: measure the room’s CO2 to narrow it. Doses are taken as given evenly over day and night; for a tank dosed in the dark alone it reads too high.'),
    );
  if (lowPh !== undefined) text.push(causeWords(lowPh, room_ppm));
  const cautions =
    room_ppm !== undefined && room_ppm > roomLimit.stuffy_ppm
      ? [
          `The room’s air has ${room_ppm.toFixed(0)} ppm of carbon dioxide: ventilate for people too. ${roomLimit.work_ppm} ppm is the limit for a working day in the EU; your local rules come first.`,
        ]
      : [];
  return { text, cautions };
}

function causeWords(low: NonNullable<GasNow['lowPh']>, room_ppm: number | undefined): string {
  const { phNow, phInOutdoorAir, phInRoomAir, phWithReactor } = low.shown;
  const parts = [
    `Mean pH ${two(phNow!)}; in balance with outdoor air (${outdoorAir_ppm} ppm) this water would be at ${two(phInOutdoorAir!)}.`,
  ];
  if (low.phNow >= low.phInOutdoorAir) parts.push('Room air does not lower it.');
  else if (room_ppm === undefined || phInRoomAir === undefined)
    parts.push(
      `If room air alone did that, the room would be at ${low.airInBalance_ppm.toFixed(0)} ppm. Enter the room’s CO2 to tell the room’s share from the tank’s.`,
    );
  else
    parts.push(
      `With the room’s ${room_ppm.toFixed(0)} ppm it would be at ${two(phInRoomAir)}: ${(100 * (low.shareOfRoom ?? 0)).toFixed(0)} % of the carbon dioxide above outdoor air comes from the room, the rest from the tank.`,
    );
  if (phWithReactor !== undefined)
    parts.push(`The reactor’s carbon dioxide takes it to ${two(phWithReactor)}; the rest is respiration and food.`);
  if (low.phNow < low.phInOutdoorAir) parts.push('More alkalinity will not fix it: fresh air and aeration will.');
  return parts.join(' ');
}
