import { describe, expect, test } from 'vitest';
import { acclimationPlan } from '#rules/arrivals/acclimation.ts';
import { dipBath, soakWithinMaximum } from '#rules/arrivals/bath.ts';
import { dailyLightIntegral, equivalentFullHours, parFromDailyLight } from '#rules/arrivals/daily-light.ts';
import { degreeDaysOf, developmentFromTwo, expectedTemperature, ripeAfter } from '#rules/arrivals/degree-days.ts';
import { ammoniumPkCleggWhitfield1995, freeAmmonia_mg_L, freeAmmoniaShare } from '#rules/arrivals/free-ammonia.ts';
import { hoursToWarm } from '#rules/arrivals/heating.ts';
import { type LightWish, lightPlan, relayLightPlan } from '#rules/arrivals/light-plan.ts';
import { checkedProfile, heightForPar, parAtHeight } from '#rules/arrivals/light-profile.ts';
import { batchMatch } from '#rules/arrivals/new-water.ts';
import { pestPlan } from '#rules/arrivals/pest-plan.ts';
import { pests } from '#rules/arrivals/pests.ts';
import { type ArrivalWish, waterForArrival } from '#rules/arrivals/prepare.ts';
import { ammoniaInBag, shockBetween } from '#rules/arrivals/shock.ts';
import { type Asked, expectLimits, refusalOf } from '../refusal-of.ts';

const water = { temperature: 25, salinity: 35, ph: 8.1 };
const bath = { bathL: 8, tankShare: 0.6, reagents: [] };
const dose = (dose_mL_L: number, label?: { low_mL_L: number; high_mL_L: number }) => [
  { name: 'oil', dose_mL_L, ...(label === undefined ? {} : { label }) },
];
const warm = { volumeL: 100, from_C: 0, to_C: 35, heater_W: 1e5, room_C: 20, loss_W_K: 1 };
const stage = { threshold_C: 4, measuredFrom_C: 20, measuredTo_C: 30 };
const seawater = { salinity: 35, temperature_C: 25 };
const arrival: ArrivalWish = {
  ...{ pieces: [{ count: 4, longest_cm: 6 }], vesselL: 1000, salinity: 35 },
  strength: { gramsPerLitreAt35: 38, sd_g_L: 0 },
};
const places = checkedProfile({
  ...{ kind: 'attenuation', at: { height_cm: 40, par_umol_m2_s: 300 }, attenuation_per_m: 3 },
});
const light: LightWish = {
  profile: { kind: 'measured', pairs: places },
  ...{ day: { fullHours: 10 }, target: { par_umol_m2_s: 300 }, days: 366 },
};

/** The limits are those of the docstrings; where those name no source, common practice, no published source. */
const asked: Asked[] = [
  [
    'litres of the bags',
    (value) => acclimationPlan(water, water, value, false),
    ...(['water of the bags, L', 0.1, 1000] as const),
  ],
  [
    'minutes afloat',
    (value) => acclimationPlan(water, water, 3, false, value),
    ...(['float, minutes', 60, 240] as const),
  ],
  ['dip bath', (bathL) => dipBath({ ...bath, bathL }), 'bath, L', 0.1, 1000],
  ['rinse bath', (rinseL) => dipBath({ ...bath, rinseL }), 'rinse bath, L', 0, 1000],
  ['dose', (value) => dipBath({ ...bath, reagents: dose(value) }), 'dose of oil, mL/L', 0, 200],
  [
    'lowest dose on a label',
    (low_mL_L) => dipBath({ ...bath, reagents: dose(1, { low_mL_L, high_mL_L: 200 }) }),
    ...(['label of oil, lowest mL/L', 0, 200] as const),
  ],
  [
    'highest dose on a label',
    (high_mL_L) => dipBath({ ...bath, reagents: dose(1, { low_mL_L: 1, high_mL_L }) }),
    ...(['label of oil, highest mL/L', 1, 200] as const),
  ],
  [
    'hours of full light',
    (fullHours) => equivalentFullHours({ fullHours, rampUpHours: fullHours === 0 ? 1 : 0 }),
    'hours of full light',
    0,
    24,
  ],
  [
    'hours of ramp up',
    (rampUpHours) => equivalentFullHours({ fullHours: rampUpHours === 0 ? 1 : 0, rampUpHours }),
    'hours of ramp up',
    0,
    24,
  ],
  [
    'hours of ramp down',
    (rampDownHours) => equivalentFullHours({ fullHours: rampDownHours === 0 ? 1 : 0, rampDownHours }),
    'hours of ramp down',
    0,
    24,
  ],
  ['PAR of a day', (value) => dailyLightIntegral(value, { fullHours: 10 }), 'PAR, µmol/m²/s', 0, 5000],
  ['light of a day', (value) => parFromDailyLight(value, { fullHours: 24 }), 'daily light integral, mol/m²', 0, 432],
  [
    'expected temperature',
    (expected_C) => expectedTemperature({ measured: [], expected_C }),
    'expected temperature, °C',
    5,
    40,
  ],
  [
    'measured temperature that is expected on',
    (temperature_C) => expectedTemperature({ measured: [{ startMs: 0, temperature_C }] }),
    'temperature, °C',
    5,
    40,
  ],
  [
    'measured temperature',
    (temperature_C) => ripeAfter(0, 10, stage, { measured: [{ startMs: 0, temperature_C }], expected_C: 25 }),
    'temperature, °C',
    5,
    40,
  ],
  [
    'degree-days to wait',
    (value) => ripeAfter(0, value, stage, { measured: [], expected_C: 25 }),
    'degree-days',
    0,
    1e5,
  ],
  [
    'temperature of ammonia',
    (temperature_C) => ammoniumPkCleggWhitfield1995({ ...seawater, temperature_C }),
    'temperature, °C',
    -2,
    40,
  ],
  [
    'salinity of ammonia',
    (salinity) => ammoniumPkCleggWhitfield1995({ ...seawater, salinity }),
    'practical salinity',
    0,
    40,
  ],
  ['pH of ammonia', (value) => freeAmmoniaShare(value, seawater), 'pH', 2, 12],
  ['ammonia tested', (value) => freeAmmonia_mg_L(value, 0.1), 'total ammonia, mg/L N', 0, 100],
  ['share of ammonia', (value) => freeAmmonia_mg_L(1, value), 'share of free ammonia', 0, 1],
  ['volume to warm', (volumeL) => hoursToWarm({ ...warm, volumeL }), 'volume, L', 0.1, 1e5],
  ['water at hand', (from_C) => hoursToWarm({ ...warm, from_C }), 'temperature now, °C', 0, 35],
  ['water wanted', (to_C) => hoursToWarm({ ...warm, to_C }), 'temperature wanted, °C', 0, 35],
  ['heat lost', (loss_W_K) => hoursToWarm({ ...warm, loss_W_K }), 'loss to the room, W/K', 0, 1000],
  ['room', (room_C) => hoursToWarm({ ...warm, room_C }), 'room, °C', 0, 40],
  ['days of light', (days) => lightPlan({ ...light, days }), 'days of the plan', 2, 366, 1],
  [
    'day looked at',
    (day) => relayLightPlan(lightPlan({ ...light, days: 8, mostRatio: 2 }), { kind: 'hold', day, forDays: 1 }),
    ...(['day of the plan', 1, 8, 1] as const),
  ],
  [
    'days held',
    (forDays) => relayLightPlan(lightPlan({ ...light, days: 8, mostRatio: 2 }), { kind: 'hold', day: 3, forDays }),
    ...(['days to hold', 1, 60, 1] as const),
  ],
  [
    'days back',
    (byDays) =>
      relayLightPlan(lightPlan({ ...light, days: 8, mostRatio: 2 }), { kind: 'step_back', day: 5, byDays, forDays: 1 }),
    ...(['days to step back', 1, 4, 1] as const),
  ],
  [
    'height of a place',
    (height_cm) =>
      checkedProfile({
        kind: 'measured',
        pairs: [
          { height_cm, par_umol_m2_s: height_cm < 250 ? 50 : 150 },
          { height_cm: 250, par_umol_m2_s: 100 },
        ],
      }),
    ...(['height above the sand bed, cm', 0, 500] as const),
  ],
  [
    'highest place of the rack',
    (highest_cm) =>
      checkedProfile({
        kind: 'attenuation',
        at: { height_cm: 500, par_umol_m2_s: 300 },
        attenuation_per_m: 1,
        highest_cm: highest_cm === 0 ? 1 : highest_cm,
      }),
    ...(['highest place of the rack, cm', 0, 500] as const),
  ],
  ['height asked for', (value) => parAtHeight(places, value), 'height above the sand bed, cm', 0, 40],
  ['temperature of new water', (temperature) => batchMatch({ temperature }, water), 'temperature', 0, 40],
  ['salinity of new water', (salinity) => batchMatch({ salinity }, water), 'salinity', 0, 60],
  ['alkalinity of new water', (alkalinity) => batchMatch({ alkalinity }, water), 'alkalinity', 0, 40],
  ['alkalinity of the tank', (alkalinity) => batchMatch(water, { alkalinity }), 'alkalinity', 0, 40],
  ['temperature of a bag', (temperature) => shockBetween({ temperature }, water), 'temperature', 5, 40],
  ['salinity of a bag', (salinity) => shockBetween({ salinity }, water), 'salinity', 0, 45],
  ['pH of a tank', (ph) => shockBetween(water, { ph }), 'pH', 5, 10],
  ['salinity with ammonia', (salinity) => ammoniaInBag({ ...water, salinity }, water), 'salinity of the bag', 19, 40],
  ['pH of a bag with ammonia', (ph) => ammoniaInBag({ ...water, ph }, water), 'pH', 5, 10],
  ['pH of a tank with ammonia', (ph) => ammoniaInBag(water, { ...water, ph }), 'pH', 5, 10],
  ['vessel', (vesselL) => waterForArrival({ ...arrival, vesselL }), 'vessel, L', 2, 1000],
  ['salinity of the tank', (salinity) => waterForArrival({ ...arrival, salinity }), 'salinity of the tank', 20, 45],
  ['hours to mix', (value) => waterForArrival({ ...arrival, mixingHours: value }), 'hours to mix', 0.1, 72],
  ['share from the tank', (tankShare) => waterForArrival({ ...arrival, tankShare }), 'tank share', 0.5, 1],
  ['water in the bags', (bagWaterL) => waterForArrival({ ...arrival, bagWaterL }), 'water in the bags, L', 0, 1e4],
  [
    'longest side',
    (longest_cm) => waterForArrival({ ...arrival, pieces: [{ count: 1, longest_cm }] }),
    ...(['longest side of a piece, cm', 0.5, 60] as const),
  ],
  [
    'pieces',
    (count) => waterForArrival({ ...arrival, pieces: [{ count, longest_cm: 4 }] }),
    ...(['pieces of one size', 1, 10_000, 1] as const),
  ],
];

const shares = (tankShare: number, bagShare: number) => () => dipBath({ ...bath, tankShare, bagShare });
const profile = (...pairs: [height_cm: number, par_umol_m2_s: number][]) =>
  checkedProfile({
    kind: 'measured',
    pairs: pairs.map(([height_cm, par_umol_m2_s]) => ({ height_cm, par_umol_m2_s })),
  });
const attenuated = (attenuation_per_m: number) =>
  checkedProfile({ kind: 'attenuation', at: { height_cm: 40, par_umol_m2_s: 300 }, attenuation_per_m });
const cool = { days: 64, temperature_C: 24 };

/** Refusals whose limits are no closed range, word for word. */
const told: [string, () => unknown, string][] = [
  [
    'a bath mostly of bag water',
    shares(0.49, 0.51),
    'tank share is 0.49, allowed: 0.5 to 1: at least half of a dip bath from the tank',
  ],
  ['more than all from the tank', shares(1.01, 0), 'tank share is 1.01, allowed: 0 to 1'],
  ['less than none from the bags', shares(1, -0.01), 'bag share is -0.01, allowed: 0 to 1'],
  ['shares that leave some of the bath open', shares(0.6, 0.398), 'tank share plus bag share is 0.998, allowed: 1'],
  ['a soak of no time', () => soakWithinMaximum(0), 'soak, minutes is 0, allowed: above 0, at most 10'],
  ['a soak too long', () => soakWithinMaximum(10.01), 'soak, minutes is 10.01, allowed: above 0, at most 10'],
  [
    'a reagent twice',
    () => dipBath({ ...bath, reagents: [...dose(1), ...dose(2)] }),
    'doses of oil is 2, allowed: 1 for each reagent',
  ],
  [
    'a day without light',
    () => equivalentFullHours({ fullHours: 0 }),
    "hours of the light's day is 0, allowed: above 0, at most 24",
  ],
  [
    'a day of 25 hours',
    () => equivalentFullHours({ fullHours: 20, rampDownHours: 5 }),
    "hours of the light's day is 25, allowed: above 0, at most 24",
  ],
  [
    'a stage of no days',
    () => developmentFromTwo(cool, { days: 0.09, temperature_C: 27 }),
    'days of a stage is 0.09, allowed: 0.1 to 1000',
  ],
  [
    'a stage of years',
    () => developmentFromTwo({ ...cool, days: 1001 }, cool),
    'days of a stage is 1001, allowed: 0.1 to 1000',
  ],
  [
    'a stage in ice',
    () => developmentFromTwo({ ...cool, temperature_C: -2.1 }, cool),
    'temperature, °C is -2.1, allowed: -2 to 40',
  ],
  [
    'a stage in hot water',
    () => developmentFromTwo(cool, { days: 38, temperature_C: 40.1 }),
    'temperature, °C is 40.1, allowed: -2 to 40',
  ],
  [
    'warmth that slows',
    () => developmentFromTwo(cool, { days: 64, temperature_C: 27 }),
    'days at the warmer temperature is 64, allowed: less than the 64 at the cooler',
  ],
  [
    'two stages at one temperature',
    () => developmentFromTwo(cool, { ...cool, days: 38 }),
    'days at the warmer temperature is 38, allowed: less than the 64 at the cooler',
  ],
  [
    'growth below its threshold',
    () => degreeDaysOf({ days: 3, temperature_C: 4 }, stage),
    'degree-days is 0, allowed: above 0: a temperature above the threshold',
  ],
  [
    'no temperature at all',
    () => expectedTemperature({ measured: [] }),
    'days with a temperature is 0, allowed: 1 or more, or an expected temperature',
  ],
  [
    'a heater that is off',
    () => hoursToWarm({ ...warm, heater_W: 0 }),
    'heater, W is 0, allowed: above 0, at most 100000',
  ],
  [
    'a heater like a power station',
    () => hoursToWarm({ ...warm, heater_W: 100_001 }),
    'heater, W is 100001, allowed: above 0, at most 100000',
  ],
  ['half a day of light', () => lightPlan({ ...light, days: 7.5 }), 'days of the plan is 7.5, allowed: a whole number'],
  [
    'a target that is the start',
    () => lightPlan({ ...light, start: light.target }),
    'target, mol/m² in a day is 10.8, allowed: above the start, 10.8',
  ],
  [
    'a target beyond the lamp',
    () => lightPlan({ ...light, target: { par_umol_m2_s: 301 } }),
    'PAR of the target, µmol/m²/s is 301, allowed: 90.3583 to 300, which is what was measured',
  ],
  [
    'a start below the sand',
    () => lightPlan({ ...light, start: { par_umol_m2_s: 90 } }),
    'PAR of the start, µmol/m²/s is 90, allowed: 90.3583 to 300, which is what was measured',
  ],
  [
    'a step back before the first day',
    () => relayLightPlan(lightPlan(light), { kind: 'step_back', day: 1, byDays: 1, forDays: 1 }),
    'day of the plan is 1, allowed: 2 or more to step back',
  ],
  [
    'a hold of half a day',
    () => relayLightPlan(lightPlan(light), { kind: 'hold', day: 1, forDays: 0.5 }),
    'days to hold is 0.5, allowed: a whole number',
  ],
  [
    'a hold past a year',
    () => relayLightPlan(lightPlan(light), { kind: 'hold', day: 1, forDays: 1 }),
    'days of the plan is 367, allowed: 2 to 366',
  ],
  ['one place', () => profile([10, 50]), 'places with a PAR is 1, allowed: 2 or more, or one and an attenuation'],
  [
    'two values at one height',
    () => profile([10, 50], [10, 60]),
    'PAR values at 10 cm is 2, allowed: 1 for each height',
  ],
  [
    'a place in the dark',
    () => profile([10, 0], [20, 60]),
    'PAR at 10 cm, µmol/m²/s is 0, allowed: above 0, at most 5000',
  ],
  [
    'a place in the sun twice over',
    () => profile([10, 50], [20, 5001]),
    'PAR at 20 cm, µmol/m²/s is 5001, allowed: above 0, at most 5000',
  ],
  [
    'depths for heights',
    () => profile([0, 60], [20, 50]),
    'PAR at 20 cm is 50, allowed: more than the 60 at 0 cm: light falls with depth. Measure again, or are they depths?',
  ],
  ['water that dims nothing', () => attenuated(0), 'attenuation, 1/m is 0, allowed: above 0, at most 20'],
  ['water like ink', () => attenuated(20.1), 'attenuation, 1/m is 20.1, allowed: above 0, at most 20'],
  [
    'a light below all places',
    () => heightForPar(profile([0, 50], [9, 99]), 49),
    'PAR wanted, µmol/m²/s is 49, allowed: 50 to 99',
  ],
  [
    'a light above all places',
    () => heightForPar(profile([0, 50], [9, 99]), 100),
    'PAR wanted, µmol/m²/s is 100, allowed: 50 to 99',
  ],
  [
    'a tolerance of nothing',
    () => batchMatch({}, {}, { temperature: 1, salinity: 0, alkalinity: 1 }),
    'tolerance of salinity is 0, allowed: above 0',
  ],
  [
    'no first dip',
    () => pestPlan({ pest: pests.none_seen, dipsMs: [], inspectionsMs: [], warmth: { measured: [] }, nowMs: 0 }),
    'dips done is 0, allowed: 1 or more',
  ],
  [
    'a pest that the cold stops',
    () =>
      pestPlan({
        pest: pests.acropora_flatworm,
        dipsMs: [0],
        inspectionsMs: [],
        warmth: { measured: [], expected_C: 19 },
        nowMs: 0,
      }),
    'degree-days above 19.6 °C is 0, allowed: the tank is too cold for this pest to develop within two years: plan by eye',
  ],
  ['no pieces', () => waterForArrival({ ...arrival, pieces: [] }), 'pieces is 0, allowed: 1 or more'],
  [
    'half a piece',
    () => waterForArrival({ ...arrival, pieces: [{ count: 1.5, longest_cm: 4 }] }),
    'pieces of one size is 1.5, allowed: a whole number',
  ],
  [
    'a colony larger than the vessel',
    () => waterForArrival({ ...arrival, vesselL: 5, pieces: [{ count: 1, longest_cm: 30 }] }),
    "litres around a piece of 30 cm is 32.8, allowed: the vessel's 5",
  ],
];

describe('a number that nothing can be worked out from', () => {
  test.each(asked)('%s: what is beyond the limits is worked with, or refused without a word why', (...each) => {
    expectLimits(each);
  });

  test.each(told)('%s: is worked with, or refused without a word why', (_what, ask, message) => {
    expect(refusalOf(ask).message).toBe(message);
  });
});
