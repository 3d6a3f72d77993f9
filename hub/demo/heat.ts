import type { SystemState, TankWater } from './reef-system.ts';
import type { RoomAir } from './room-air.ts';
import { massKgOf } from './water.ts';

/** Specific heat of seawater of salinity 35 at 25 °C, J/kg/K. @source TEOS-10 manual (2010), rounded, from memory */
const specificHeat_J_kg_K = 3994;

/** Heat that a kilogram of water takes along as vapour at 25 °C, J. @source steam tables, from memory */
const latentHeat_J_kg = 2.442e6;

/** A fan over the water multiplies evaporation: common practice, no published source. */
const fanFactor = 2.2;

const secondsPerDay = 86_400;

/** Rise of the vapour pressure of water near 25 °C, 1/K. @source Clausius-Clapeyron with the latent heat above */
const vapourRise_K = 0.06;

/** Water that goes into the air, L/s: the setup's rate at the setpoint, more from warmer water and under a fan. */
export function evaporationL_s({ setup, water, remedies }: SystemState): number {
  const fan = remedies.includes('fan_on') ? fanFactor : 1;
  const warmth = Math.exp(vapourRise_K * (water.temperature_C - setup.setpoint_C));
  return (setup.evaporation_L_day * fan * warmth) / secondsPerDay;
}

/** What the heater does now: a thermostat with hysteresis, unless its contact is welded or its wire is broken. */
export function isHeaterOnNow(system: SystemState): boolean {
  if (system.faults.includes('heater_stuck_on')) return true;
  if (system.faults.includes('heater_stuck_off')) return false;
  const { setpoint_C, thermostatReach_C } = system.setup;
  if (system.water.temperature_C <= setpoint_C - thermostatReach_C) return true;
  if (system.water.temperature_C >= setpoint_C + thermostatReach_C) return false;
  return system.isHeaterOn;
}

/** Warms or cools the water by heater, pumps, lamps, room and evaporation over a short time. */
export function exchangeHeat(
  water: TankWater,
  system: SystemState,
  air: RoomAir,
  light: number,
  seconds: number,
): void {
  const { heaterW, pumpsW, lampsW, heatLoss_W_K } = system.setup;
  const watts =
    (system.isHeaterOn ? heaterW : 0) +
    pumpsW +
    lampsW * light -
    heatLoss_W_K * (water.temperature_C - air.temperature_C) -
    evaporationL_s(system) * latentHeat_J_kg;
  water.temperature_C += (watts * seconds) / (massKgOf(water) * specificHeat_J_kg_K);
}
