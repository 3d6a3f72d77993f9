import { type AlarmRecord, type Gate, openGate } from './life-cycle.ts';
import type { RoomIndex } from './room-index.ts';
import type { RoomState } from './room-state.ts';

/** Whether a cause that is known hides this alarm now. */
export function gateOf(_index: RoomIndex, state: RoomState, record: AlarmRecord, nowMs: number): Gate {
  for (const window of state.maintenance) {
    if (window.system === record.system && window.probe === undefined && nowMs < window.untilMs) {
      return { is: 'strong', cause: 'maintenance' };
    }
  }
  return openGate;
}
