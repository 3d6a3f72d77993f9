import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Command, Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomRules, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { Bands, RuleOverride, WatchedProbe } from '#rules/bands/watched-room.ts';
import type { Quality } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { minuteMs, mondayMs } from './script.ts';

export const temperatureBand: Bands = { temperature: { low: 25, high: 26.5, mostPerHour: 50 } };
export const pass = (value: number): Quality => ({ flag: 'pass', value });

/** Two systems, `tank` and `sump`, that take one piece of evidence at a time; minutes from a Monday. */
export class StepTank {
  state: RoomState = emptyRoomState();
  events: AlarmEvent[] = [];
  rules: RoomRules;

  constructor(given: { bands?: Bands; probes?: WatchedProbe[]; overrides?: RuleOverride[] } = {}) {
    const { probes = [], overrides = [] } = given;
    const of = (id: string) => ({ id, name: id, volumeL: 400, bands: given.bands ?? temperatureBand, probes });
    this.rules = rulesForRoom({ systems: [of('tank'), { ...of('sump'), probes: [] }], overrides });
  }

  offer(minute: number, evidence: Evidence): string[] {
    const { events } = stepRoom(this.rules, this.state, evidence, mondayMs + minute * minuteMs);
    this.events.push(...events);
    return events.map(({ state, alarm }) => `${state} ${alarm.replace('tank/', '')}`);
  }

  read(
    minute: number,
    quality: Quality | number,
    given: { at?: number; probe?: string; metric?: Metric; system?: string } = {},
  ) {
    const { at = minute, metric = 'temperature', probe = metric, system = 'tank' } = given;
    const series = { system, metric, probe };
    const timeMs = mondayMs + at * minuteMs;
    return this.offer(minute, {
      is: 'reading',
      reading: { series, timeMs, quality: typeof quality === 'number' ? pass(quality) : quality },
    });
  }

  /** A value that moves a little, one a minute, both minutes included, with a tick after each. */
  readFrom(from: number, to: number, value: number, given: Parameters<StepTank['read']>[2] = {}): string[] {
    const told: string[] = [];
    for (let minute = from; minute <= to; minute += 1) {
      told.push(...this.read(minute, value + (minute % 3) / 100, given), ...this.tick(minute + 0.5));
    }
    return told;
  }

  tick(minute: number): string[] {
    return this.offer(minute, { is: 'time' });
  }

  command(minute: number, command: Command): string[] {
    return this.offer(minute, { is: 'command', command });
  }

  series(metric: Metric = 'temperature', probe: string = metric) {
    return this.state.series.find((each) => each.metric === metric && each.probe === probe)!;
  }
}
