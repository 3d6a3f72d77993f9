import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { alarmsOf, emptyRoomState, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { WatchedRoom, WatchedSystem } from '#rules/bands/watched-room.ts';
import { minuteMs, mondayMs } from './script.ts';

/** One system, or two, in which time passes and people do their work; minutes from a Monday. */
export class House {
  state: RoomState = emptyRoomState();
  events: AlarmEvent[] = [];
  room: WatchedRoom;

  constructor(
    system: Partial<WatchedSystem> = {},
    overrides: WatchedRoom['overrides'] = [],
    second?: Partial<WatchedSystem>,
  ) {
    const bare = { name: 'Tank', volumeL: 400, bands: {}, probes: [] };
    this.room = {
      systems: [
        { ...bare, id: 'tank', ...system },
        ...(second === undefined ? [] : [{ ...bare, id: 'sump', ...second }]),
      ],
      overrides,
    };
    this.#rules = rulesForRoom(this.room);
  }

  #rules;

  /** At so many minutes; gives what was told, as `state alarm`. */
  at(minutes: number, evidence: Evidence = { is: 'time' }): string[] {
    // After a pause the hub has to listen for a moment before it judges what only time can tell.
    const pauseMs = mondayMs + minutes * minuteMs - (this.state.nowMs ?? mondayMs);
    if (evidence.is === 'time' && pauseMs > 10 * minuteMs) this.#step(minutes - 1, evidence);
    return this.#step(minutes, evidence);
  }

  #step(minutes: number, evidence: Evidence): string[] {
    const before = this.events.length;
    this.events.push(...stepRoom(this.#rules, this.state, evidence, mondayMs + minutes * minuteMs).events);
    return this.events.slice(before).map(({ state, alarm }) => `${state} ${alarm}`);
  }

  get last(): AlarmEvent {
    return this.events.at(-1)!;
  }

  listed(minutes: number) {
    return alarmsOf(this.#rules, this.state, mondayMs + minutes * minuteMs);
  }
}
