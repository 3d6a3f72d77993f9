import type { DemoRoom, SystemSetup } from './reef-system.ts';
import { gaussian, type Random } from './seeded-random.ts';

/** The air that all systems of the room share. */
export type RoomAir = { temperature_C: number; pco2_uatm: number };

/** Carbon dioxide in a closed cabinet or a full room with shut windows: common practice, no published source. */
export const staleAirPco2_uatm = 1500;

/** How long the slow wandering of the air remembers, s. */
const wanderMemoryS = 2 * 3600;

/** Hour of the day on the clock of the room, 0 to 24. */
export function localHour(timeMs: number, utcOffsetMinutes: number): number {
  const minutes = timeMs / 60_000 + utcOffsetMinutes;
  return (((minutes / 60) % 24) + 24) % 24;
}

/** Room air over the day: warmest in the afternoon, most carbon dioxide in the evening when people are at home. */
export function roomAirAt(room: DemoRoom, timeMs: number): RoomAir {
  const hour = localHour(timeMs, room.utcOffsetMinutes);
  const warmth = Math.sin(((hour - 9) / 24) * 2 * Math.PI);
  const evening = Math.exp(-(((hour - 20.5) / 2.5) ** 2));
  return {
    temperature_C: 22.3 + 1.1 * warmth + 0.25 * room.airWander,
    pco2_uatm: 500 + 120 * evening + 25 * room.airWander,
  };
}

/** The next step of the slow wandering: an Ornstein-Uhlenbeck process of unit variance. */
export function wanderOn(airWander: number, seconds: number, random: Random): number {
  const kept = Math.exp(-seconds / wanderMemoryS);
  return airWander * kept + Math.sqrt(1 - kept * kept) * gaussian(random);
}

/** Share of full light, 0 to 1: a trapezium with ramps of one hour at both ends. */
export function lightAt(setup: SystemSetup, hour: number): number {
  return Math.max(0, Math.min(1, hour - setup.lampsFromHour, setup.lampsToHour - hour));
}

/** Mean of `lightAt` over 24 hours. */
export function meanLight(setup: SystemSetup): number {
  return (setup.lampsToHour - setup.lampsFromHour - 1) / 24;
}
