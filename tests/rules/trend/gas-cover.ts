import { gasTransferFromNights, type Night, type NightHour } from '#rules/trend/gas-transfer.ts';
import { type GasTank, gasTank } from './gas-tank.ts';

const hourMs = 3_600_000;
/** As the hub cuts its nights: what the light has left in the corals is used up first. */
const settledHours = 2;

export function nightsOf(tank: GasTank): Night[] {
  const { hours, lightsOn, lightsOut, salinity, used_umol_kg_h, carbonGiven_umol_kg_h } = tank;
  const days = Math.floor(hours.length / 24);
  const between = (from: number, to: number): NightHour[] =>
    hours
      .filter(({ hour }) => hour >= from && hour < to)
      .map(({ hour, ...told }) => ({ timeMs: hour * hourMs, ...told }));
  return Array.from({ length: days }, (_, day) => ({
    ...{ salinity, used_umol_kg_h, carbonGiven_umol_kg_h },
    light: between(Math.ceil(day * 24 + lightsOn), day * 24 + lightsOut),
    hours: between(Math.ceil(day * 24 + lightsOut + settledHours), Math.floor((day + 1) * 24 + lightsOn)),
  }));
}

export type GasCover = {
  tanks: number;
  /** Share of the tanks whose coefficient lies in the 95 % interval, and root mean square of the error of its logarithm, percent. */
  covered: number;
  errorPercent: number;
  coveredMeasured: number;
  measured: number;
  wellKnown: number;
  coveredOfWellKnown: number;
  errorOfWellKnownPercent: number;
  /** Of tanks that are dosed in the dark alone: how many, held, by what the estimate is too high on the whole (percent), and those well known. */
  night: { tanks: number; covered: number; biasPercent: number; wellKnown: number; coveredOfWellKnown: number };
  /** Upper end over lower end of the interval, in the middle. */
  factor: number;
};

export function gasCover(seeds: readonly number[]): GasCover {
  const found = seeds.flatMap((seed) => {
    const tank = gasTank(seed);
    const learned = gasTransferFromNights(nightsOf(tank));
    if (learned === undefined) return [];
    const { coefficient_per_h, low95, high95, isWellKnown } = learned;
    const isCovered = low95 <= tank.coefficient_per_h && tank.coefficient_per_h <= high95;
    const error = Math.log(coefficient_per_h / tank.coefficient_per_h);
    return [
      {
        isCovered,
        error,
        isWellKnown,
        isMeasured: tank.isRoomMeasured,
        isByNight: tank.isDosedByNight,
        factor: high95 / low95,
      },
    ];
  });
  const share = (all: typeof found): number => all.filter(({ isCovered }) => isCovered).length / all.length;
  const errorPercent = (all: typeof found): number =>
    100 * Math.sqrt(all.reduce((sum, { error }) => sum + error ** 2, 0) / all.length);
  const measured = found.filter(({ isMeasured }) => isMeasured);
  const known = found.filter(({ isWellKnown }) => isWellKnown);
  const night = found.filter(({ isByNight }) => isByNight);
  const nightKnown = night.filter(({ isWellKnown }) => isWellKnown);
  const factors = found.map(({ factor }) => factor).sort((a, b) => a - b);
  return {
    ...{ tanks: found.length, covered: share(found), errorPercent: errorPercent(found) },
    ...{ coveredMeasured: share(measured), measured: measured.length },
    ...{ wellKnown: known.length, coveredOfWellKnown: share(known), errorOfWellKnownPercent: errorPercent(known) },
    night: {
      ...{ tanks: night.length, covered: share(night), wellKnown: nightKnown.length },
      biasPercent: 100 * (Math.exp(night.reduce((sum, { error }) => sum + error, 0) / night.length) - 1),
      coveredOfWellKnown: share(nightKnown),
    },
    factor: factors[Math.floor(factors.length / 2)]!,
  };
}
