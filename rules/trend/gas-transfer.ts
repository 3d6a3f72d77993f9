import { hourMs } from '../clock/durations.ts';
import { within } from '../quantity/out-of-range.ts';
import { carbonateFromAlkalinityAndPh } from '../seawater/carbonate-system.ts';
import { co2InBalance_umol_kg, coefficientAt } from '../seawater/gas-exchange.ts';

/**
 * How fast carbon dioxide moves between a tank's water and the air, from what pH and alkalinity do by day and night. In the dark
 *
 *     dDIC/dt = source - coefficient × CO2        source = respiration, doses, calcification and coefficient × CO2 in balance with the air
 *
 * and while the source is steady it has no part in the curvature of DIC: that is the coefficient times the curvature of what was lost. Over
 * whole days all that comes in has to leave: doses, respiration and skeletons tell how much. What is not known of either, respiration
 * and room air that fall through every night alike, and the room's air where nobody measures it, is taken with a spread and widens
 * the interval.
 *
 * Each of the two is weighed by how many of its own standard deviations it misses nought, so that an interval holds the truth as often
 * for a fast exchange as for a slow one.
 *
 * @source the night regression of oxygen in streams, Hornberger & Kelly 1975, J. Environ. Eng. Div. 101:729 (from memory), turned to DIC;
 *   the constants of judgement are our own and held on invented tanks by tests/rules/trend/gas-transfer.test.ts
 */

/** One hour of a night. */
export type NightHour = {
  timeMs: number;
  /** Total scale. */
  phTotal: number;
  temperature_C: number;
  /** With what was dosed and used within the day: a drift of it through the night looks like gas. */
  totalAlkalinity_umol_kg: number;
  /** CO2 of the room's air where it is measured, ppm. */
  room_ppm?: number;
};

/** The dark hours of one night and the light ones of the day before, both oldest first. */
export type Night = {
  hours: readonly NightHour[];
  light: readonly NightHour[];
  salinity: number;
  /** What the tank uses of alkalinity, and the carbon that comes with doses and a reactor, both µmol/kg/h as the mean of the day. */
  used_umol_kg_h: number;
  carbonGiven_umol_kg_h: number;
  /** Standard uncertainty of the use; that of a use learned from a few weeks of tests when absent, and never less. */
  usedSd_umol_kg_h?: number;
  /** CO2 of the room as somebody read it now and then, ppm; absent: nobody did, or a sensor tells it hour by hour. */
  spotRoom_ppm?: number;
};

export type GasTransfer = {
  /** 1/h at 25 °C, with its 95 % interval. */
  coefficient_per_h: number;
  low95: number;
  high95: number;
  /** Nights that it rests on. */
  nights: number;
  /** True when the interval is narrow enough to reckon doses by. */
  isWellKnown: boolean;
};

/** Fewer nights than this say nothing of how one differs from the next. Chosen here. */
const leastNights = 5;
/** Fewer dark or light hours than this have no curve to speak of. Chosen here. */
const leastHours = 6;
/**
 * Before the first night, as the logarithm of 1/h: a still surface half a metre deep has some 0.2 (transfer velocity 10 cm/h), a tank
 * whose skimmer draws its own volume of air in twenty minutes some 4. @source common practice, no published source
 */
const firstLog = { mean: 0.2, sd: 0.9 };
/** Share by which respiration falls from the first dark hour looked at to the last: what the day has left is used up. @source common practice, no published source */
const respirationFall = { mean: 0.08, sd: 0.05 };
/** By how much CO2 of the room falls through such a night because people have left, unwatched and where it is measured, ppm. @source common practice, no published source */
const roomFall = { unmeasured: { mean: 30, sd: 40 }, measured: { mean: 0, sd: 10 } };
/** CO2 of an unwatched room over the whole day, and the standard uncertainty of one that is measured, or read now and then, ppm. @source common practice, no published source */
const usualRoom = { mean: 600, sd: 120, measuredSd: 25, spotSd: 70 };
/** Respiration beyond photosynthesis over a whole day, as a share of it: food makes up for it. @source common practice, no published source */
const netRespiration = { mean: 0.1, sd: 0.08 };
/** How far the carbon of doses and skeletons is known, as a share of the alkalinity used. Chosen here: that of a use learned from a few weeks of tests. */
const givenSdShare = 0.06;
/** Standard uncertainty of a pH probe (total scale), of the alkalinity (share) and of the constants of the carbonate system (share of CO2). @source common practice, no published source */
const systematic = { ph: 0.03, alkalinity: 0.03, constants: 0.03 };
/** Coefficients looked at, 1/h, as logarithms. Chosen here: past these no tank is known. */
const grid = { low: Math.log(0.02), high: Math.log(20), points: 161 };
/** A coefficient is well known when the ends of its interval are not further apart than this factor. Chosen here: what is left of a day's dose is then known within a fifth. */
const wellKnownFactor = 3;

/** What one night says. Slopes and CO2 are of a coefficient at 25 °C. */
type NightFacts = {
  /** Of DIC through the night, µmol/kg/h². */
  curvature: number;
  /** Of what a coefficient of 1/h would take out, less what measured air would give back, µmol/kg/h². */
  curvatureOfLoss: number;
  /** Mean slope of DIC (µmol/kg/h) and mean CO2 (µmol/kg) by night less those by day: what photosynthesis makes. */
  slopeBeyondDay: number;
  co2BeyondDay: number;
  /** Hours of light as a share of the day, and those of the night that are looked at. */
  lightShare: number;
  hours: number;
  /** CO2 in the water for each ppm of the air, µmol/kg. */
  balancePerPpm: number;
  /** Carbon that doses bring and skeletons take, µmol/kg/h, and the part of it that is not known. */
  given: number;
  givenSd: number;
  /** Of all hours, weighted by light and dark: slope of DIC and CO2; and the air, where it is measured. */
  daySlope: number;
  dayCo2: number;
  room: { mean: number; sd: number };
  isRoomMeasured: boolean;
};

type Shift = { ph: number; alkalinity: number };

/**
 * The coefficient of gas exchange of a tank from its nights.
 *
 * @param nights  five or more with six hours or more each; any order
 * @returns undefined with fewer nights, or water outside the carbonate system
 * @throws OutOfRange  for a pH, temperature or alkalinity outside the carbonate system
 */
export function gasTransferFromNights(nights: readonly Night[]): GasTransfer | undefined {
  const used = nights.filter(({ hours, light }) => hours.length >= leastHours && light.length >= leastHours);
  if (used.length < leastNights) return undefined;
  const posterior = (shift: Shift) => posteriorOf(used.map((night) => factsOf(night, shift)));
  const plain = posterior({ ph: 0, alkalinity: 0 });
  const half = (one: Shift, other: Shift): number => (posterior(one).mean - posterior(other).mean) / 2;
  const byPh = half({ ph: systematic.ph, alkalinity: 0 }, { ph: -systematic.ph, alkalinity: 0 });
  const byAlkalinity = half(
    { ph: 0, alkalinity: systematic.alkalinity },
    { ph: 0, alkalinity: -systematic.alkalinity },
  );
  const sd = Math.hypot(plain.sd, byPh, byAlkalinity, systematic.constants);
  const [low95, high95] = [Math.exp(plain.mean - 1.96 * sd), Math.exp(plain.mean + 1.96 * sd)];
  return {
    coefficient_per_h: Math.exp(plain.mean),
    low95,
    high95,
    nights: used.length,
    isWellKnown: high95 / low95 <= wellKnownFactor,
  };
}

function factsOf(
  { hours, light, salinity, used_umol_kg_h, carbonGiven_umol_kg_h, usedSd_umol_kg_h, spotRoom_ppm }: Night,
  shift: Shift,
): NightFacts {
  const carbonOf = ({ timeMs, phTotal, temperature_C, totalAlkalinity_umol_kg, room_ppm }: NightHour) => {
    const water = { salinity, temperature_C };
    const found = carbonateFromAlkalinityAndPh({
      ...water,
      totalAlkalinity_umol_kg: totalAlkalinity_umol_kg * (1 + shift.alkalinity),
      phTotal: within('pH (total scale)', phTotal + shift.ph, 6, 9.5),
    });
    // Referred to 25 °C here, so that one coefficient holds for all hours.
    const ofTemperature = coefficientAt(1, temperature_C);
    const balancePerPpm = co2InBalance_umol_kg(1, water) * ofTemperature;
    const balance = room_ppm === undefined ? undefined : room_ppm * balancePerPpm;
    return {
      room_ppm,
      time: timeMs / hourMs,
      dic: found.dic_umol_kg,
      co2: found.co2_umol_kg * ofTemperature,
      balance,
      balancePerPpm,
    };
  };
  const [dark, lit] = [hours.map(carbonOf), light.map(carbonOf)];
  const isRoomMeasured = dark.every(({ balance }) => balance !== undefined);
  const times = dark.map(({ time }) => time);
  const excess = dark.map(({ co2, balance }) => co2 - (isRoomMeasured ? balance! : 0));
  const change = (all: typeof dark): number => (all.at(-1)!.dic - all[0]!.dic) / (all.at(-1)!.time - all[0]!.time);
  const co2Of = (all: typeof dark): number => mean(all.map(({ co2 }) => co2));
  const dic = dark.map((each) => each.dic);
  const lightShare = light.length / 24;
  const ofDay = (of: (all: typeof dark) => number): number => lightShare * of(lit) + (1 - lightShare) * of(dark);
  const rooms = [...dark, ...lit].flatMap(({ room_ppm }) => (room_ppm === undefined ? [] : [room_ppm]));
  return {
    given: carbonGiven_umol_kg_h - used_umol_kg_h / 2,
    givenSd: Math.max(givenSdShare * used_umol_kg_h, (usedSd_umol_kg_h ?? 0) / 2),
    daySlope: ofDay(change),
    dayCo2: ofDay(co2Of),
    room: roomOf(rooms.length === dark.length + lit.length ? mean(rooms) : undefined, spotRoom_ppm),
    curvature: curvatureOf(times, dic),
    curvatureOfLoss: -curvatureOf(times, integralOf(times, excess)),
    slopeBeyondDay: change(dark) - change(lit),
    co2BeyondDay: co2Of(dark) - co2Of(lit),
    lightShare,
    hours: times.at(-1)! - times[0]!,
    balancePerPpm: mean(dark.map((each) => each.balancePerPpm)),
    isRoomMeasured,
  };
}

function roomOf(measured: number | undefined, spot: number | undefined): { mean: number; sd: number } {
  if (measured !== undefined) return { mean: measured, sd: usualRoom.measuredSd };
  return spot === undefined ? usualRoom : { mean: spot, sd: usualRoom.spotSd };
}

/** Running integral by trapezoids. */
function integralOf(times: readonly number[], values: readonly number[]): number[] {
  let sum = 0;
  return times.map((time, at) => {
    if (at > 0) sum += ((values[at]! + values[at - 1]!) / 2) * (time - times[at - 1]!);
    return sum;
  });
}

/** Mean and sd of the logarithm of the coefficient, by Bayes' rule over a row of coefficients and of scatters between nights. */
function posteriorOf(nights: readonly NightFacts[]): { mean: number; sd: number } {
  const logs = Array.from(
    { length: grid.points },
    (_, at) => grid.low + ((grid.high - grid.low) * at) / (grid.points - 1),
  );
  const weights = logs.map(
    (log) => logEvidence(nights, Math.exp(log)) - ((log - firstLog.mean) / firstLog.sd) ** 2 / 2,
  );
  const largest = Math.max(...weights);
  const shares = weights.map((weight) => Math.exp(weight - largest));
  const sum = shares.reduce((a, b) => a + b, 0);
  const middle = shares.reduce((total, share, at) => total + share * logs[at]!, 0) / sum;
  const variance = shares.reduce((total, share, at) => total + share * (logs[at]! - middle) ** 2, 0) / sum;
  return { mean: middle, sd: Math.sqrt(variance) };
}

/** Logarithm of the density of all nights at a coefficient, up to a constant. */
function logEvidence(nights: readonly NightFacts[], coefficient: number): number {
  const n = nights.length;
  const rests = nights.map(({ curvature, curvatureOfLoss }) => curvature - coefficient * curvatureOfLoss);
  const middle = mean(rests);
  const squares = rests.reduce((sum, rest) => sum + (rest - middle) ** 2, 0);
  // What falls through every night alike: respiration, and the air of the room.
  const trend = nights.map((night) => {
    const made = madeOf(night, coefficient);
    const room = roomFall[night.isRoomMeasured ? 'measured' : 'unmeasured'];
    const perPpm = (coefficient * night.balancePerPpm) / night.hours;
    return {
      mean: -(respirationFall.mean * made) / night.hours - room.mean * perPpm,
      sd: Math.hypot((respirationFall.sd * made) / night.hours, room.sd * perPpm),
    };
  });
  const expected = mean(trend.map((each) => each.mean));
  const variance = mean(trend.map((each) => each.sd)) ** 2 + squares / (n - 1) / n + 1e-12;
  return -((middle - expected) ** 2) / (2 * variance) + logEvidenceOfBudget(nights, coefficient);
}

/** The same of the whole days: what doses bring, skeletons take and respiration adds has left through the surface. */
function logEvidenceOfBudget(nights: readonly NightFacts[], coefficient: number): number {
  const rests = nights.map((night) => {
    const made = madeOf(night, coefficient);
    const balance = night.balancePerPpm * night.room.mean;
    return {
      rest: night.given + netRespiration.mean * made - coefficient * (night.dayCo2 - balance) - night.daySlope,
      sd: Math.hypot(night.givenSd, netRespiration.sd * made, coefficient * night.balancePerPpm * night.room.sd),
    };
  });
  const middle = mean(rests.map(({ rest }) => rest));
  const scatter = rests.reduce((sum, { rest }) => sum + (rest - middle) ** 2, 0) / (rests.length - 1) / rests.length;
  const variance = mean(rests.map(({ sd }) => sd)) ** 2 + scatter + 1e-12;
  return -(middle ** 2) / (2 * variance);
}

/** What photosynthesis makes, mean of the day, µmol/kg/h; respiration is about as much. */
function madeOf({ slopeBeyondDay, co2BeyondDay, lightShare }: NightFacts, coefficient: number): number {
  return Math.max(0, slopeBeyondDay + coefficient * co2BeyondDay) * lightShare;
}

const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

function slopeOf(times: readonly number[], values: readonly number[]): number {
  const [t, v] = [mean(times), mean(values)];
  const over = times.reduce((sum, time) => sum + (time - t) ** 2, 0);
  return times.reduce((sum, time, at) => sum + (time - t) * (values[at]! - v), 0) / over;
}

/** Second derivative of the parabola that fits best. */
function curvatureOf(times: readonly number[], values: readonly number[]): number {
  const t = mean(times);
  const squares = times.map((time) => (time - t) ** 2);
  // What is left of the square once its own straight line is taken off.
  const line = slopeOf(times, squares);
  const middle = mean(squares);
  const bent = times.map((time, at) => squares[at]! - middle - line * (time - t));
  const over = bent.reduce((sum, each) => sum + each ** 2, 0);
  return (2 * bent.reduce((sum, each, at) => sum + each * values[at]!, 0)) / over;
}
