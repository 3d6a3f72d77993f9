import type { Metric } from '#rules/quantity/metric.ts';
import { conductivityFromPracticalSalinity } from '#rules/seawater/practical-salinity.ts';
import { evaporationL_s, exchangeHeat, isHeaterOnNow } from './heat.ts';
import { live } from './living.ts';
import {
  calmPace,
  type DemoRoom,
  inventedSystems,
  type SystemSetup,
  type SystemState,
  type TankWater,
} from './reef-system.ts';
import { lightAt, localHour, roomAirAt, wanderOn } from './room-air.ts';
import { gaussian, type Random } from './seeded-random.ts';
import { drainShare, evaporate, pourFresh, pourSaltWater, salinityOf, volumeLOf, waterAtStart } from './water.ts';
import { probePhOf } from './water-carbonate.ts';

/** Longest time that one step of the physics may span: a heater of 1 W a litre then moves the water by 0.015 °C. */
const longestStepS = 60;

/** The float lets the level fall by this share of the volume before the top-off runs. */
const topOffReach = 0.002;

/** Above this share of its volume a system runs over its brim. */
const brim = 1.05;

/** How fast the simulated keeper exchanges diluted water for strong salt water, L/min, and its salinity. */
const exchange = { litres_min: 2, salinity: 41 } as const;

/** What a probe shows at one time. */
export type ProbeReading = { system: string; probe: string; metric: Metric; value: number };

/** A room at rest: every system at its setpoint, at the given time. */
export function quietRoom(timeMs: number, utcOffsetMinutes: number, setups = inventedSystems): DemoRoom {
  return { timeMs, utcOffsetMinutes, airWander: 0, systems: setups.map(quietSystem) };
}

function quietSystem(setup: SystemSetup): SystemState {
  return {
    setup,
    water: waterAtStart(setup),
    calcification_dKH_day: setup.calcification_dKH_day,
    isHeaterOn: false,
    isTopOffOn: false,
    pouredByFaultL: 0,
    faults: [],
    remedies: [],
    pace: calmPace,
  };
}

/** The room with one of its systems changed; an unknown id is a mistake of the caller. */
export function withSystem(room: DemoRoom, id: string, change: Partial<Omit<SystemState, 'setup'>>): DemoRoom {
  if (!room.systems.some((system) => system.setup.id === id)) throw new Error(`no simulated system ${id}`);
  const systems = room.systems.map((system) => (system.setup.id === id ? { ...system, ...change } : system));
  return { ...room, systems };
}

/** The system of that id; an unknown id is a mistake of the caller. */
export function systemOf(room: DemoRoom, id: string): SystemState {
  const found = room.systems.find((system) => system.setup.id === id);
  if (found === undefined) throw new Error(`no simulated system ${id}`);
  return found;
}

/**
 * The room a while later. The clock of the room (lamps, air, corals, doses) moves by `seconds`; heat and level of a hurried
 * system by more.
 *
 * @param seconds   of the room's clock, 0 or more
 * @param longestS  longest time of one step of the physics; longer is cheaper and coarser
 */
export function stepRoom(room: DemoRoom, seconds: number, random: Random, longestS = longestStepS): DemoRoom {
  return {
    ...room,
    timeMs: room.timeMs + seconds * 1000,
    airWander: wanderOn(room.airWander, seconds, random),
    systems: room.systems.map((system) => stepSystem(room, system, seconds, longestS)),
  };
}

function stepSystem(room: DemoRoom, system: SystemState, seconds: number, longestS: number): SystemState {
  const { heat, level } = system.pace;
  const steps = Math.max(1, Math.ceil((seconds * Math.max(1, heat, level)) / longestS));
  const next = { ...system, water: { ...system.water } };
  const stepS = seconds / steps;
  const growth = (system.setup.growth_percent_day / 100) * (stepS / 86_400);
  for (let step = 0; step < steps; step += 1) {
    const timeMs = room.timeMs + (step + 0.5) * stepS * 1000;
    const air = roomAirAt(room, timeMs);
    const light = lightAt(system.setup, localHour(timeMs, room.utcOffsetMinutes));
    next.isHeaterOn = isHeaterOnNow(next);
    exchangeHeat(next.water, next, air, light, stepS * heat);
    evaporate(next.water, evaporationL_s(next) * stepS * level);
    topOff(next, stepS * level);
    if (next.remedies.includes('salt_restored')) exchangeForStrongWater(next, stepS * level);
    live(next.water, next, air, light, stepS);
    next.calcification_dKH_day *= 1 + growth;
  }
  return next;
}

function topOff(system: SystemState, seconds: number): void {
  const { volumeL, topOff_L_min, topOffContainerL } = system.setup;
  const pumpedL = (topOff_L_min / 60) * seconds;
  const missingL = volumeL - volumeLOf(system.water);
  if (system.faults.includes('top_off_stuck_open')) {
    const pouredL = Math.min(pumpedL, topOffContainerL - system.pouredByFaultL);
    system.isTopOffOn = pouredL > 0;
    system.pouredByFaultL += pouredL;
    pourFresh(system.water, pouredL);
    const heldL = volumeLOf(system.water);
    if (heldL > volumeL * brim) drainShare(system.water, 1 - (volumeL * brim) / heldL);
    return;
  }
  system.pouredByFaultL = 0;
  if (system.faults.includes('top_off_stopped')) system.isTopOffOn = false;
  else if (missingL >= volumeL * topOffReach) system.isTopOffOn = true;
  if (!system.isTopOffOn) return;
  pourFresh(system.water, Math.max(0, Math.min(pumpedL, missingL)));
  // The float opens as the level arrives; a step that pumps past it must not run on.
  if (missingL <= pumpedL) system.isTopOffOn = false;
}

function exchangeForStrongWater(system: SystemState, seconds: number): void {
  const { volumeL, start } = system.setup;
  const litres = Math.min((exchange.litres_min / 60) * seconds, volumeL / 10);
  drainShare(system.water, litres / volumeLOf(system.water));
  pourSaltWater(system.water, mixedWater(system.setup, litres, exchange.salinity / start.salinity));
  const surplusL = volumeLOf(system.water) - volumeL;
  if (surplusL > 0) drainShare(system.water, Math.min(litres, surplusL) / volumeLOf(system.water));
}

/** Salt water mixed like the water of the start, all its solutes times `strength`. */
function mixedWater(setup: SystemSetup, litres: number, strength: number): TankWater {
  const { start } = setup;
  return waterAtStart({
    ...setup,
    volumeL: litres,
    start: {
      salinity: start.salinity * strength,
      alkalinity_dKH: start.alkalinity_dKH * strength,
      calcium_mg_L: start.calcium_mg_L * strength,
      dic_umol_kg: start.dic_umol_kg * strength,
    },
  });
}

/** The same room after a water change of one system with water mixed as at its start, at the salinity given. */
export function afterWaterChange(room: DemoRoom, id: string, litres: number, salinity: number): DemoRoom {
  const { setup, water } = systemOf(room, id);
  const changed = { ...water };
  drainShare(changed, litres / volumeLOf(changed));
  pourSaltWater(changed, mixedWater(setup, litres, salinity / setup.start.salinity));
  return withSystem(room, id, { water: changed });
}

/** What the probes of the room show now: the water's own state with each probe's noise and resolution. */
export function readProbes(room: DemoRoom, random: Random): ProbeReading[] {
  return room.systems.flatMap(({ setup, water }) =>
    setup.probes.map((probe) => {
      const noisy = trueValue(water, probe.metric) + probe.noise * gaussian(random);
      return { system: setup.id, probe: probe.id, metric: probe.metric, value: rounded(noisy, probe.resolution) };
    }),
  );
}

/** What a perfect probe of that metric would show. */
export function trueValue(water: TankWater, metric: 'temperature' | 'ph' | 'conductivity'): number {
  if (metric === 'temperature') return water.temperature_C;
  if (metric === 'ph') return probePhOf(water);
  return conductivityFromPracticalSalinity(salinityOf(water), water.temperature_C);
}

/** To the nearest step, without the tail of binary fractions. */
function rounded(value: number, resolution: number): number {
  return Number((Math.round(value / resolution) * resolution).toFixed(6));
}
