import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { dailyLightIntegral, type LightDay } from './daily-light.ts';
import { mostDailyRatio } from './light-plan.ts';
import { type CheckedProfile, parAtHeight } from './light-profile.ts';

/** A lamp as it was measured, and the hours that it is lit. */
export type LampLight = { places: CheckedProfile; day: LightDay };

/** Longest dimming, days. Chosen here, as of every light plan. */
const mostDays = 366;

export type LampChange = {
  /** How far each height gets more or less with the new lamp undimmed: daily light after over before, no unit. */
  heights: { height_cm: number; before_mol_m2: number; after_mol_m2: number; ratio: number }[];
  /** Share of its full light that the new lamp is set to, day by day; one day of 1 where nothing has to be dimmed. */
  days: { day: number; share: number }[];
};

/**
 * What another lamp, or other hours of light, means to pieces that stay where they are: on the first day none of them gets more daily
 * light than it had, and from there it grows by at most `mostDailyRatio` a day up to the full lamp.
 *
 * It takes PAR to follow the lamp's setting in proportion; a PAR meter tells whether it does.
 *
 * @param heights_cm  where pieces are, one or more, each inside the places measured of both lamps
 * @param mostRatio  most growth from a day to the next, above 1 up to 2
 * @throws OutOfRange  outside these, or for a change that would take more than 366 days
 * @source definition of the daily light integral
 */
export function lampChange(
  before: LampLight,
  after: LampLight,
  heights_cm: readonly number[],
  mostRatio = mostDailyRatio,
): LampChange {
  if (heights_cm.length === 0) throw new OutOfRange('heights of pieces', 0, '1 or more');
  if (!(mostRatio > 1 && mostRatio <= 2)) throw new OutOfRange('growth a day, ratio', mostRatio, 'above 1, at most 2');
  const lightOf = ({ places, day }: LampLight, height_cm: number): number =>
    dailyLightIntegral(parAtHeight(places, height_cm), day);
  const heights = heights_cm.map((height_cm) => {
    const [before_mol_m2, after_mol_m2] = [lightOf(before, height_cm), lightOf(after, height_cm)];
    return { height_cm, before_mol_m2, after_mol_m2, ratio: after_mol_m2 / before_mol_m2 };
  });
  const start = Math.min(1, 1 / Math.max(...heights.map(({ ratio }) => ratio)));
  const days = [{ day: 1, share: start }];
  for (let share = start; share < 1; ) {
    const next = share * mostRatio;
    share = next >= 1 - 1e-9 ? 1 : next;
    days.push({ day: days.length + 1, share });
  }
  within('days of the change', days.length, 1, mostDays);
  return { heights, days };
}

/**
 * @source common practice, no published source
 */
export const lampCautions: readonly string[] = [
  'Measure PAR at the new lamp with the meter where the pieces are, at the setting of the day: lamps do not always follow their setting in proportion.',
  'A piece that pales gets too much: hold the day’s setting, or step back.',
  'Work on lamps with the mains unplugged, a drip loop in every cable and a residual-current device; wiring is for a licensed electrician.',
];
