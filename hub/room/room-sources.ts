import type { EdgeState } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import type { LastReasons } from '../flow/pipeline/last-reasons.ts';
import type { RoomSources } from '../http/room-view.ts';
import type { Estimator } from '../judgement/estimate/estimator.ts';
import type { RoomWatch } from '../judgement/watch/room-watch.ts';
import type { Config } from '../model/config/schema.ts';

export type RoomSourceParts = {
  config: Config;
  store: Store;
  watch: RoomWatch;
  estimator: Estimator;
  reasons: LastReasons;
  edges(): EdgeState[];
  units(): KeepersUnits;
  causes: RoomSources['causes'];
  isInvented: boolean;
};

/** What the view of the room is made of. */
export function roomSources({ watch, estimator, reasons, ...given }: RoomSourceParts): RoomSources {
  return {
    ...given,
    standing: (nowMs) => watch.standing(nowMs),
    silence: (series, nowMs) => watch.silence(series, nowMs),
    maintenance: (nowMs) => watch.maintenance(nowMs),
    advice: (system) => estimator.advice(system),
    lastWhy: reasons.of,
  };
}
