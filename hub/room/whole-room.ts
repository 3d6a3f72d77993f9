import type { Answering } from './answering.ts';
import type { Entering } from './entering.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { Readings } from './readings.ts';
import type { RoomRecord } from './record.ts';
import type { Upkeep } from './upkeep.ts';

/** All that the page, the edges and the routine can reach. */
export type WholeRoom = Ground & {
  record: RoomRecord;
  judges: Judges;
  entering: Entering;
  readings: Readings;
  upkeep: Upkeep;
  answering: Answering;
};
