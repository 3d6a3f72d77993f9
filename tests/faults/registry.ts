import { brokerGone } from './broker.ts';
import { clockWrong } from './clock-faults.ts';
import { damaged } from './damaged.ts';
import { diskFull } from './disk.ts';
import type { Fault } from './fault.ts';
import { flooded } from './flood.ts';
import { influxAway } from './influx-faults.ts';
import { killed } from './killed.ts';
import { memorySteady } from './memory.ts';
import { oneAccount } from './one-account.ts';
import { serialReplugged } from './serial.ts';
import { startsOnAnything } from './starts.ts';
import { unjudged } from './unjudged.ts';
import { brokerUnwilling } from './unwilling.ts';
import { victoriaCounted } from './victoria.ts';

/** All faults, in the order of the table. */
export const faults: readonly Fault[] = [
  killed,
  unjudged,
  brokerGone,
  brokerUnwilling,
  influxAway,
  victoriaCounted,
  serialReplugged,
  diskFull,
  startsOnAnything,
  damaged,
  clockWrong,
  flooded,
  oneAccount,
  memorySteady,
];
