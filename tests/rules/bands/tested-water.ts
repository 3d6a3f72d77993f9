import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { RuleOverride, WatchedSystem } from '#rules/bands/watched-room.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { dayMs, mondayMs } from './script.ts';

/** A tank with bands of alkalinity and calcium, its tests, doses, demands and forecasts; days from a Monday. */
export class TestedWater {
  state: RoomState = emptyRoomState();
  events: AlarmEvent[] = [];
  #rules;

  constructor(overrides: RuleOverride[] = [], system: Partial<WatchedSystem> = {}) {
    const bands = { alkalinity: { low: 7.5, high: 9 }, calcium: { low: 400, high: 460 } };
    this.#rules = rulesForRoom({
      systems: [{ id: 'tank', name: 'Tank', volumeL: 400, bands, probes: [], ...system }],
      overrides,
    });
  }

  offer(evidence: Evidence, day: number): string[] {
    const before = this.events.length;
    this.events.push(...stepRoom(this.#rules, this.state, evidence, mondayMs + day * dayMs).events);
    return this.events.slice(before).map(({ state, alarm }) => `${state} ${alarm.replace('tank/', '')}`);
  }

  test(day: number, value: number, analyte: Metric = 'alkalinity', at = day): string[] {
    return this.offer({ is: 'test', system: 'tank', analyte, value, timeMs: mondayMs + day * dayMs }, at);
  }

  dose(day: number, raisesBy: number, analyteRaised: Metric = 'alkalinity'): string[] {
    return this.offer({ is: 'dose', system: 'tank', analyteRaised, raisesBy, timeMs: mondayMs + day * dayMs }, day);
  }

  demand(day: number, demandPerDay: number, sd = 0.05, analyte: Metric = 'alkalinity'): string[] {
    return this.offer({ is: 'demand', system: 'tank', analyte, demandPerDay, sd }, day);
  }

  forecast(day: number, hoursToLeave: number | undefined, probability: number, side?: 'low' | 'high'): string[] {
    return this.offer(
      {
        ...{ is: 'forecast', system: 'tank', metric: 'alkalinity', probability },
        ...(hoursToLeave === undefined ? {} : { hoursToLeave }),
        ...(side === undefined ? {} : { side }),
      },
      day,
    );
  }

  get last(): AlarmEvent {
    return this.events.at(-1)!;
  }

  analyte(metric: Metric = 'alkalinity') {
    return this.state.analytes.find((each) => each.metric === metric)!;
  }
}

/** The same with one rule switched off. */
export const waterWithout = (rule: RuleOverride['rule']) => new TestedWater([{ rule, enabled: false }]);
