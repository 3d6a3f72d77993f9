import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { daysAhead } from './advice-facts.ts';
import type { SalinityAdviceInput, SalinityLevel } from './advice-salinity-level.ts';
import type { WaterSteps } from './advice-types.ts';
import { evaporatedShare } from './water-facts.ts';

/** Most change a day when the band does not say. @source common practice, no published source */
const usualMostPerDay = 0.5;
/** Salinity within this share of half the band is left alone: every exchange moves all the rest as well. */
const leftAloneShare = 0.5;
/** Share of the volume that a day's exchange may have. Common practice, no published source */
const exchangedShare = 0.1;
/** A day's exchange above this share of the volume throws away more salt than is missing: then salt alone is dissolved. */
const largeExchange = 0.04;
/** Salt that is stirred into a litre drawn off, g: it dissolves within minutes and clouds nothing. common practice, no published source */
const mostGramsPerLitre = 16;
/** Salt water to top off with, and the saltiest that is made for an exchange: beyond it a mix may not stay clear. */
const topOffSalinity = 35;
const saltiest = 40;
/** A usual salt mix, g for a litre of salinity 35; mixes differ by some percent. @source common practice, no published source */
export const gramsPerLitreAt35 = 38;

/**
 * Water to put in so that salinity goes to the middle of the band, each day at most as far as the band allows; undefined
 * when it is near enough, or surer than its uncertainty allows to say.
 *
 * Litres are rounded down to what can be measured, so a day never moves more than allowed.
 */
export function salinitySteps(input: SalinityAdviceInput, { level, sd }: SalinityLevel): WaterSteps | undefined {
  const { band } = input.system;
  const middle = (band.low + band.high) / 2;
  const wanted = middle - level;
  const leftAlone = Math.max(sdsFor95Percent * sd, leftAloneShare * (band.high - middle));
  if (Math.abs(wanted) <= leftAlone) return undefined;
  const most = (band.mostPerDay ?? usualMostPerDay) - Math.max(0, Math.sign(wanted) * input.driftPerDay);
  const steps = wanted < 0 ? lowered(input, level, wanted, most) : raised(input, level, wanted, most);
  // The salts dosed take up all that a day allows, or it is less than a jug shows.
  return steps.totalChange === 0 ? undefined : steps;
}

function lowered(input: SalinityAdviceInput, level: number, wanted: number, most: number): WaterSteps {
  const isMissing = input.isWaterLow === true;
  const { volumeL } = input.system;
  // Topped off, the same salt stands in more water; exchanged, a share of the salt goes out.
  const change = (from: number, litres: number): number =>
    isMissing ? (from * volumeL) / (volumeL + litres) - from : (-from * litres) / volumeL;
  const litresFor = (from: number, fall: number): number =>
    isMissing ? (volumeL * fall) / (from - fall) : (volumeL * fall) / from;
  const steps = dayByDay(level, wanted, most, litresFor, change);
  return { do: isMissing ? 'top_off_fresh' : 'exchange_for_fresh', newSalinity: 0, ...steps };
}

function raised(input: SalinityAdviceInput, level: number, wanted: number, most: number): WaterSteps {
  const { volumeL } = input.system;
  const mostByTopOff = Math.min(most, evaporatedShare * topOffSalinity);
  if (wanted <= daysAhead * mostByTopOff) {
    // What evaporates takes no salt along: salt water in its place adds all of its own.
    const change = (_from: number, litres: number): number => (topOffSalinity * litres) / volumeL;
    const litresFor = (_from: number, rise: number): number => (volumeL * rise) / topOffSalinity;
    const steps = dayByDay(level, wanted, mostByTopOff, litresFor, change);
    return { do: 'top_off_with_salt_water', newSalinity: topOffSalinity, ...steps, ...salted(steps, topOffSalinity) };
  }
  const newSalinity = Math.min(saltiest, Math.ceil(2 * (level + most / exchangedShare)) / 2);
  const change = (from: number, litres: number): number => ((newSalinity - from) * litres) / volumeL;
  const litresFor = (from: number, rise: number): number =>
    Math.min(exchangedShare * volumeL, (volumeL * rise) / Math.max(0.1, newSalinity - from));
  const steps = dayByDay(level, wanted, most, litresFor, change);
  if ((steps.litresOnDay[0] ?? 0) > largeExchange * volumeL) return dissolved(volumeL, level, wanted, most);
  return { do: 'exchange_for_saltier', newSalinity, ...steps, ...salted(steps, newSalinity) };
}

/** Salt dissolved in water drawn off the tank and poured back: no water goes out, so only what is missing is weighed. */
function dissolved(volumeL: number, level: number, wanted: number, most: number): WaterSteps {
  const gramsPerUnit = (volumeL * gramsPerLitreAt35) / 35;
  const saltGramsOnDay: number[] = [];
  for (let left = wanted; left > 1e-9 && saltGramsOnDay.length < daysAhead; left -= most)
    saltGramsOnDay.push(Math.floor(Math.min(left, most) * gramsPerUnit));
  const litresOnDay = saltGramsOnDay.map((grams) => measurableLitres(Math.max(1, grams / mostGramsPerLitre)));
  const changeOnDay = saltGramsOnDay.map((grams) => grams / gramsPerUnit);
  return {
    do: 'salt_into_drawn_off',
    newSalinity: Math.round(level + (mostGramsPerLitre * 35) / gramsPerLitreAt35),
    litresOnDay,
    saltGramsOnDay,
    changeOnDay,
    totalChange: changeOnDay.reduce((sum, change) => sum + change, 0),
  };
}

type Days = Pick<WaterSteps, 'litresOnDay' | 'changeOnDay' | 'totalChange'>;

/** The most allowed each day until the rest is less, so that a larger distance never means a smaller step today. */
function dayByDay(
  level: number,
  wanted: number,
  most: number,
  litresFor: (from: number, distance: number) => number,
  change: (from: number, litres: number) => number,
): Days {
  const litresOnDay: number[] = [];
  const changeOnDay: number[] = [];
  let current = level;
  let left = Math.abs(wanted);
  while (litresOnDay.length < daysAhead) {
    const litres = measurableLitres(litresFor(current, Math.min(left, most)));
    if (litres <= 0) break;
    const step = change(current, litres);
    litresOnDay.push(litres);
    changeOnDay.push(step);
    current += step;
    left -= Math.abs(step);
  }
  return { litresOnDay, changeOnDay, totalChange: current - level };
}

/** By jug or bucket, always down. */
function measurableLitres(litres: number): number {
  const step = litres < 10 ? 0.1 : litres < 100 ? 0.5 : 1;
  return Number((Math.floor(litres / step + 1e-9) * step).toFixed(1));
}

function salted({ litresOnDay }: Days, salinity: number): { saltGramsOnDay: number[] } {
  return { saltGramsOnDay: litresOnDay.map((litres) => Math.round((litres * gramsPerLitreAt35 * salinity) / 35)) };
}
