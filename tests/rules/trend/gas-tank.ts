import {
  carbonateFromAlkalinityAndDic,
  carbonateFromAlkalinityAndPh,
  equilibriumOf,
} from '#rules/seawater/carbonate-system.ts';
import { co2InBalance_umol_kg, coefficientAt } from '#rules/seawater/gas-exchange.ts';
import { seededRandom } from './seeded-random.ts';

/** One hour of an invented tank as its keeper's instruments tell it. */
export type TankHour = {
  hour: number;
  phTotal: number;
  temperature_C: number;
  totalAlkalinity_umol_kg: number;
  room_ppm?: number;
};

export type GasTank = {
  seed: number;
  /** The truth, 1/h at 25 °C. */
  coefficient_per_h: number;
  salinity: number;
  /** Lights begin to rise at this hour of the day, and are out at that. */
  lightsOn: number;
  lightsOut: number;
  isRoomMeasured: boolean;
  isDosedByNight: boolean;
  /** As the keeper knows them, µmol/kg/h over the day. */
  used_umol_kg_h: number;
  carbonGiven_umol_kg_h: number;
  /** The truth, mean of all hours. */
  meanRoom_ppm: number;
  hours: TankHour[];
  /** The truth at the last hour, for what a dose does after it. */
  last: { totalAlkalinity_umol_kg: number; dic_umol_kg: number; temperature_C: number; co2_umol_kg: number };
};

const stepsPerHour = 6;
const dkhInUmol_kg = 349;
/** As the estimate takes it. */
const usedByDayAssumed = 0.62;

/**
 * An invented tank, hour by hour, with all that the estimate must not know: corals whose photosynthesis saturates, respiration that
 * falls through the night (faster in its first hours), calcification by day and night, dosing, a room that people fill and leave,
 * air that changes from day to day, and a pH probe with an offset, a walk and noise.
 *
 * @param days  of which the last is the newest
 */
export function gasTank(seed: number, days = 21): GasTank {
  for (let attempt = 0; ; attempt += 1) {
    const tank = drawn(seed, attempt, days);
    if (tank !== undefined && isAlive(tank)) return tank;
  }
}

/** No reef is kept outside these, and one whose pH moves less has no corals to speak of. */
function isAlive({ hours }: GasTank): boolean {
  const all = hours.map(({ phTotal }) => phTotal);
  const mean = all.reduce((a, b) => a + b, 0) / all.length;
  const day = all.slice(-24);
  const swing = Math.max(...day) - Math.min(...day);
  return mean > 7.65 && mean < 8.35 && swing > 0.06 && swing < 0.5;
}

/** Undefined where the water leaves what the carbonate system knows. */
function drawn(seed: number, attempt: number, days: number): GasTank | undefined {
  try {
    return simulated(seed, attempt, days);
  } catch {
    return undefined;
  }
}

function simulated(seed: number, attempt: number, days: number): GasTank {
  const random = seededRandom(seed + 1_000_003 * attempt);
  const coefficient_per_h = Math.exp(random.between(Math.log(0.2), Math.log(5)));
  const salinity = random.between(33, 36.5);
  const temperature = random.between(24.3, 26.5);
  const lightHours = random.between(9, 12);
  const lightsOn = Math.floor(random.between(7, 12)) + (random.uniform() < 0.5 ? 0.5 : 0);
  const ramp = random.between(0.3, 2);
  const isLivedIn = random.uniform() < 0.5;
  const isRoomMeasured = random.uniform() < 0.3;
  const roomBase = random.between(430, isLivedIn ? 900 : 700);
  const roomFall = isLivedIn ? random.between(0, 250) : random.between(-40, 60);
  const roomDaySd = random.between(10, 70);
  const roomHourSd = random.between(5, 35);
  const respiration = Math.exp(random.between(Math.log(3), Math.log(18)));
  const afterLight = random.between(0, 0.4);
  const nightFall = random.between(0, 0.2);
  const dailyBalance = random.between(0.75, 1.05);
  const daySd = random.between(0.05, 0.18);
  const useOfDay = random.between(0.4, 3) * dkhInUmol_kg;
  const carbonOfDose = [0, 0.5, 1][Math.floor(random.between(0, 2.999))]!;
  const isDosedByNight = random.uniform() < 0.25;
  const usedByDay = random.between(0.5, 0.75);
  const probe = {
    offset: 0.03 * random.gaussian(),
    noise: random.between(0.001, 0.004),
    isCoarse: random.uniform() < 0.4,
  };
  const useError = 0.05 * random.gaussian();
  const alkalinityBias = 0.03 * random.gaussian();

  const lightAt = (hourOfDay: number): number => {
    const since = (hourOfDay - lightsOn + 24) % 24;
    if (since >= lightHours) return 0;
    return Math.min(1, since / ramp, (lightHours - since) / ramp);
  };
  const saturating = (light: number): number => Math.tanh(2 * light) / Math.tanh(2);
  const meanLight =
    Array.from({ length: 240 }, (_, at) => saturating(lightAt(at / 10))).reduce((a, b) => a + b, 0) / 240;
  const gross = (respiration * dailyBalance) / meanLight;

  const water0 = { salinity, temperature_C: temperature };
  let alkalinity = random.between(7, 9.5) * dkhInUmol_kg;
  let dic = carbonateFromAlkalinityAndPh({
    ...water0,
    totalAlkalinity_umol_kg: alkalinity,
    phTotal: random.between(7.9, 8.1),
  }).dic_umol_kg;
  let [dayRoom, hourRoom, probeWalk, roomSum] = [0, 0, 0, 0];
  let [grossToday, respirationToday] = [gross, respiration];
  const hours: TankHour[] = [];
  let last: GasTank['last'] | undefined;
  let [kitError, swingKnown, swingTrue] = [0, 0, 0];
  // Ten days before the first are not shown, so that it has found its own rhythm.
  const before = 10 * 24;
  for (let hour = -before; hour < days * 24; hour += 1) {
    const hourOfDay = ((hour % 24) + 24) % 24;
    if (hourOfDay === Math.floor(lightsOn)) {
      grossToday = gross * Math.max(0.3, 1 + daySd * random.gaussian());
      respirationToday = respiration * Math.max(0.3, 1 + 0.6 * daySd * random.gaussian());
      dayRoom = 0.5 * dayRoom + Math.sqrt(0.75) * roomDaySd * random.gaussian();
      if (random.uniform() < 0.4) kitError = 0.1 * dkhInUmol_kg * random.gaussian();
    }
    hourRoom = 0.7 * hourRoom + Math.sqrt(0.51) * roomHourSd * random.gaussian();
    probeWalk += 0.0004 * random.gaussian();
    let [phSum, roomHour, temperatureHour] = [0, 0, 0];
    for (let step = 0; step < stepsPerHour; step += 1) {
      const time = hourOfDay + step / stepsPerHour;
      const light = lightAt(time);
      const sinceOut = (time - lightsOn - lightHours + 48) % 24;
      // A lived-in room is fullest in the evening and empties through the night; it fills again over the day.
      const roomShape =
        sinceOut < 24 - lightHours ? Math.exp(-sinceOut / 4) : Math.min(1, (sinceOut - 24 + lightHours) / lightHours);
      const room_ppm = Math.max(400, roomBase + roomFall * (roomShape - 0.5) + dayRoom + hourRoom);
      const temperature_C = temperature + 0.2 * Math.sin(((time - 10) * Math.PI) / 12);
      const water = { salinity, temperature_C };
      const now = carbonateFromAlkalinityAndDic(
        { ...water, totalAlkalinity_umol_kg: alkalinity, dic_umol_kg: dic },
        equilibriumOf(water),
      );
      phSum += now.phTotal;
      roomHour += room_ppm;
      temperatureHour += temperature_C;
      const respired =
        light > 0
          ? respirationToday
          : respirationToday * (1 + afterLight * Math.exp(-sinceOut / 1.5) - nightFall * (sinceOut / 12));
      const use =
        (useOfDay / 24) * (light > 0 ? usedByDay / (lightHours / 24) : (1 - usedByDay) / (1 - lightHours / 24));
      const isDosing = !isDosedByNight || light === 0;
      const dosed = isDosing ? useOfDay / (isDosedByNight ? 24 - lightHours : 24) : 0;
      const exchange =
        coefficientAt(coefficient_per_h, temperature_C) * (co2InBalance_umol_kg(room_ppm, water) - now.co2_umol_kg);
      dic += (respired - grossToday * saturating(light) - use / 2 + dosed * carbonOfDose + exchange) / stepsPerHour;
      alkalinity += (dosed - use) / stepsPerHour;
      // The keeper knows what is dosed, and takes it that the light hours use as much as the estimate says.
      const usedKnown =
        (useOfDay / 24) *
        (light > 0 ? usedByDayAssumed / (lightHours / 24) : (1 - usedByDayAssumed) / (1 - lightHours / 24));
      swingKnown += (dosed - usedKnown) / stepsPerHour;
      swingTrue += (dosed - use) / stepsPerHour;
      last = { totalAlkalinity_umol_kg: alkalinity, dic_umol_kg: dic, temperature_C, co2_umol_kg: now.co2_umol_kg };
    }
    if (hour < 0) continue;
    roomSum += roomHour / stepsPerHour;
    const read = phSum / stepsPerHour + probe.offset + probeWalk + probe.noise * random.gaussian();
    hours.push({
      hour,
      phTotal: probe.isCoarse ? Math.round(read * 200) / 200 : read,
      temperature_C: temperatureHour / stepsPerHour,
      totalAlkalinity_umol_kg: (alkalinity - swingTrue + swingKnown + kitError) * (1 + alkalinityBias),
      ...(isRoomMeasured ? { room_ppm: (roomHour / stepsPerHour) * 1.02 + 5 * random.gaussian() } : {}),
    });
  }
  return {
    ...{ used_umol_kg_h: (useOfDay / 24) * (1 + useError), carbonGiven_umol_kg_h: (useOfDay / 24) * carbonOfDose },
    ...{
      seed,
      coefficient_per_h,
      salinity,
      lightsOn,
      lightsOut: lightsOn + lightHours,
      isRoomMeasured,
      isDosedByNight,
      hours,
    },
    ...{ meanRoom_ppm: roomSum / hours.length, last: last! },
  };
}
