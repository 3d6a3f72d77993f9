import { newAlarm } from '#rules/bands/alarm-record.ts';
import { gateOfStream } from '#rules/bands/causes.ts';
import { type SlotName, slots } from '#rules/bands/kinds/list.ts';
import { emptyRoomState, type RoomState, rulesForRoom } from '#rules/bands/room.ts';
import { indexOf, type RoomIndex, type Stream, streamOf } from '#rules/bands/room-index.ts';
import type { Bands, RuleOverride, WatchedProbe } from '#rules/bands/watched-room.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { mondayMs } from './script.ts';

/** A room of two systems, `tank` and `sump`, in which alarms are put to stand or to have ended, to ask what follows. */
export type StandingRoom = {
  state: RoomState;
  index: RoomIndex;
  stream(metric: Metric, probe?: string, system?: string): Stream;
  /** The alarm of a stream stands, or ended so many milliseconds before Monday. */
  stands(stream: Stream, slot: SlotName): void;
  ended(stream: Stream, slot: SlotName, agoMs: number): void;
};

export function standingRoom(bands: Bands, probes: WatchedProbe[] = [], overrides: RuleOverride[] = []): StandingRoom {
  const of = (id: string) => ({ id, name: id, volumeL: 400, bands, probes });
  const rules = rulesForRoom({ systems: [of('tank'), { ...of('sump'), probes: [] }], overrides });
  const state = emptyRoomState();
  const index = indexOf(rules, state, mondayMs);
  const record = ({ series }: Stream, slot: SlotName) => {
    const id = `${series.system}/${series.metric}/${slot}`;
    const made = newAlarm({ id, system: series.system, metric: series.metric, rule: 'out_of_band', priority: 'high' });
    series.alarms[slots[slot]] = made;
    return made;
  };
  return {
    state,
    index,
    stream: (metric, probe = metric, system = 'tank') => streamOf(index, { system, metric, probe })!,
    stands: (stream, slot) => {
      record(stream, slot).isLatched = true;
    },
    ended: (stream, slot, agoMs) => {
      record(stream, slot).endedMs = mondayMs - agoMs;
    },
  };
}

/** `open`, or the strength and the cause of what hides it. */
export function gate(room: StandingRoom, stream: Stream, slot: SlotName): string {
  const found = gateOfStream(room.index, stream, slot);
  return found.is === 'open' ? 'open' : `${found.is} ${found.cause}`;
}
