import type { Metric } from '#rules/quantity/metric.ts';

/**
 * What can go wrong in a simulated system. Each one changes a cause (a heater, a float, a pump, the room air), never a
 * reading: what the probes then show follows from the physics.
 */
export type Fault =
  | 'heater_stuck_on'
  | 'heater_stuck_off'
  | 'top_off_stopped'
  | 'top_off_stuck_open'
  | 'dosing_stopped'
  | 'stale_air';

/** What the simulated keeper does to help; it lasts until it is taken away again. */
export type Remedy = 'fan_on' | 'salt_restored';

/** What a system is built of. Rates are those of the whole system. */
export type SystemSetup = {
  id: string;
  name: string;
  /** Net water volume that the top-off keeps, L. */
  volumeL: number;
  heaterW: number;
  pumpsW: number;
  /** Part of the lamps' power that ends up in the water, at full light, W. */
  lampsW: number;
  /** Heat lost to the room for each degree between water and room, W/K. */
  heatLoss_W_K: number;
  /** The thermostat holds this, give or take `thermostatReach_C`. */
  setpoint_C: number;
  thermostatReach_C: number;
  evaporation_L_day: number;
  topOff_L_min: number;
  /** All that a stuck top-off can pour before its container is empty, L. */
  topOffContainerL: number;
  /** Alkalinity that the corals use in a day at the start, mean of day and night at the reference saturation, dKH. */
  calcification_dKH_day: number;
  /** Growth of that use, % a day. */
  growth_percent_day: number;
  /** Carbon dioxide given off day and night, µmol/kg/h. */
  respiration_umol_kg_h: number;
  /** Carbon taken up at full light, µmol/kg/h. */
  photosynthesis_umol_kg_h: number;
  /** Transfer coefficient of dissolved carbon dioxide between water and room air, 1/h. */
  gasTransfer_h: number;
  /** Sodium carbonate solution of 1 mol/L and calcium chloride solution of 1 mol/L, given evenly over the day, mL. */
  dosing_mL_day: { sodiumCarbonate: number; calciumChloride: number };
  /** Local hours between which the lamps burn; each ramp takes one hour inside them. */
  lampsFromHour: number;
  lampsToHour: number;
  start: { salinity: number; alkalinity_dKH: number; calcium_mg_L: number; dic_umol_kg: number };
  probes: readonly SimulatedProbe[];
};

type SimulatedProbe = {
  id: string;
  metric: Extract<Metric, 'temperature' | 'ph' | 'conductivity'>;
  /** One standard deviation of a single reading, in the metric's unit. */
  noise: number;
  /** Smallest step that the probe's board shows. */
  resolution: number;
};

/** Kept as amounts, not concentrations: evaporation then cannot create or destroy anything but water. */
export type TankWater = {
  freshKg: number;
  saltG: number;
  alkalinity_mmol: number;
  dic_mmol: number;
  calcium_mmol: number;
  temperature_C: number;
};

/**
 * How many times faster than the clock of the room heat and water level move: 1, or more where a demonstration has to
 * hurry. Corals, doses and gas exchange are never hurried: they would live through days of one noon.
 */
export type Pace = { heat: number; level: number };

export const calmPace: Pace = { heat: 1, level: 1 };

export type SystemState = {
  setup: SystemSetup;
  water: TankWater;
  calcification_dKH_day: number;
  isHeaterOn: boolean;
  isTopOffOn: boolean;
  /** What a stuck top-off has poured since it stuck, L. */
  pouredByFaultL: number;
  faults: readonly Fault[];
  remedies: readonly Remedy[];
  pace: Pace;
};

export type DemoRoom = {
  /** UTC milliseconds; lamps and people follow it. */
  timeMs: number;
  utcOffsetMinutes: number;
  /** Slow wandering of the room's air around its day cycle, in standard deviations. */
  airWander: number;
  systems: readonly SystemState[];
};

/** Noise and resolution of ordinary aquarium probes: common practice, no published source. */
const temperatureProbe = { metric: 'temperature', noise: 0.012, resolution: 0.01 } as const;
const phProbe = { metric: 'ph', noise: 0.006, resolution: 0.01 } as const;
const conductivityProbe = { metric: 'conductivity', noise: 0.04, resolution: 0.01 } as const;

/**
 * The invented fish room of the demonstration: no such place, keeper or tank exists. Sizes and powers are those of common
 * practice (about 1 W of heater a litre, 1 to 2 % evaporation a day); no published source.
 */
export const inventedSystems: readonly SystemSetup[] = [
  {
    id: 'display',
    name: 'Display tank (invented)',
    volumeL: 420,
    heaterW: 600,
    pumpsW: 55,
    lampsW: 70,
    heatLoss_W_K: 42,
    setpoint_C: 25.6,
    thermostatReach_C: 0.1,
    evaporation_L_day: 5,
    topOff_L_min: 0.5,
    topOffContainerL: 60,
    calcification_dKH_day: 1.22,
    growth_percent_day: 1.2,
    respiration_umol_kg_h: 14,
    photosynthesis_umol_kg_h: 48,
    gasTransfer_h: 2.2,
    dosing_mL_day: { sodiumCarbonate: 104, calciumChloride: 104 },
    lampsFromHour: 10,
    lampsToHour: 21,
    start: { salinity: 35.0, alkalinity_dKH: 8.3, calcium_mg_L: 425, dic_umol_kg: 2540 },
    probes: [
      { id: 'display-temperature', ...temperatureProbe },
      { id: 'display-ph', ...phProbe },
      { id: 'display-conductivity', ...conductivityProbe },
    ],
  },
  {
    id: 'growout',
    name: 'Coral grow-out (invented)',
    volumeL: 180,
    heaterW: 250,
    pumpsW: 30,
    lampsW: 40,
    heatLoss_W_K: 24,
    setpoint_C: 25.8,
    thermostatReach_C: 0.1,
    evaporation_L_day: 4.2,
    topOff_L_min: 0.3,
    topOffContainerL: 30,
    calcification_dKH_day: 1.88,
    growth_percent_day: 0.8,
    respiration_umol_kg_h: 16,
    photosynthesis_umol_kg_h: 56,
    gasTransfer_h: 2.6,
    dosing_mL_day: { sodiumCarbonate: 76, calciumChloride: 76 },
    lampsFromHour: 9,
    lampsToHour: 20,
    start: { salinity: 35.2, alkalinity_dKH: 8.4, calcium_mg_L: 430, dic_umol_kg: 2560 },
    probes: [
      { id: 'growout-temperature', ...temperatureProbe },
      { id: 'growout-ph', ...phProbe },
      { id: 'growout-conductivity', ...conductivityProbe },
    ],
  },
  {
    id: 'quarantine',
    name: 'Quarantine (invented)',
    volumeL: 80,
    heaterW: 100,
    pumpsW: 10,
    lampsW: 8,
    heatLoss_W_K: 14,
    setpoint_C: 25.2,
    thermostatReach_C: 0.1,
    evaporation_L_day: 1,
    topOff_L_min: 0.4,
    topOffContainerL: 12,
    calcification_dKH_day: 0.08,
    growth_percent_day: 0,
    respiration_umol_kg_h: 5,
    photosynthesis_umol_kg_h: 16,
    gasTransfer_h: 3,
    dosing_mL_day: { sodiumCarbonate: 1, calciumChloride: 1 },
    lampsFromHour: 11,
    lampsToHour: 19,
    start: { salinity: 34.9, alkalinity_dKH: 7.8, calcium_mg_L: 415, dic_umol_kg: 2420 },
    probes: [
      { id: 'quarantine-temperature', ...temperatureProbe },
      { id: 'quarantine-conductivity', ...conductivityProbe },
    ],
  },
];
