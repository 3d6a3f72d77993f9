import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { firstCheck } from '#rules/words/first-checks.ts';
import { bandText, durationText, valueText } from '#rules/words/value-text.ts';
import type { DemoRoom, Fault } from './reef-system.ts';
import { withSystem } from './room.ts';

/** As the rules wait before they tell of a temperature. */
const onDelayMs = 10 * 60_000;
const seenAfterMs = 25 * 60_000;
const keeper = 'Ines Marsh (invented)';

/** What broke in the invented weeks and was mended within hours; days after the past begins. */
const mishaps: readonly { system: string; fault: Fault; day: number; hours: number }[] = [
  { system: 'growout', fault: 'heater_stuck_on', day: 9.7, hours: 4 },
  { system: 'quarantine', fault: 'heater_stuck_on', day: 23.4, hours: 4 },
  { system: 'growout', fault: 'heater_stuck_off', day: 37.7, hours: 6 },
];

/** The room with the faults of this time. */
export function withMishaps(room: DemoRoom, firstMs: number): DemoRoom {
  return mishaps.reduce((changed, { system, fault, day, hours }) => {
    const fromMs = firstMs + day * dayMs;
    const isBroken = changed.timeMs >= fromMs && changed.timeMs < fromMs + hours * hourMs;
    const others = changed.systems.find(({ setup }) => setup.id === system)?.faults.filter((each) => each !== fault);
    return withSystem(changed, system, { faults: isBroken ? [...(others ?? []), fault] : (others ?? []) });
  }, room);
}

type Open = { side: 'low' | 'high'; sinceMs: number; raisedMs?: number; isSeen?: boolean };

/**
 * Follows the temperatures of the past and tells of each that left its band, that it was seen, and that it came back.
 *
 * @param bandsOf  of a system
 */
export function watchPast(bandsOf: (system: string) => Bands, tell: (event: AlarmEvent) => void) {
  const open = new Map<string, Open>();
  const counts = new Map<string, number>();

  function event(
    system: string,
    { side }: Open,
    timeMs: number,
    more: Pick<AlarmEvent, 'state' | 'message'>,
  ): AlarmEvent {
    const alarm = `${system}/temperature/out_of_band/${side}`;
    if (more.state === 'raised') counts.set(alarm, (counts.get(alarm) ?? 0) + 1);
    const about = {
      alarm,
      occurrence: counts.get(alarm) ?? 1,
      system,
      metric: 'temperature',
      rule: 'out_of_band',
    } as const;
    return { ...about, ...more, timeMs, priority: 'high', ...(more.state === 'acknowledged' ? { by: keeper } : {}) };
  }

  return ({ timeMs, systems }: DemoRoom): void => {
    for (const { setup, water } of systems) {
      const band = bandsOf(setup.id).temperature;
      if (band === undefined) continue;
      const value = valueText('temperature', water.temperature_C, {});
      const side = water.temperature_C > band.high ? 'high' : water.temperature_C < band.low ? 'low' : undefined;
      const known = open.get(setup.id);
      if (known === undefined) {
        if (side !== undefined) open.set(setup.id, { side, sinceMs: timeMs });
        continue;
      }
      if (side === undefined) {
        open.delete(setup.id);
        const message = `Temperature is back in the band: ${value}.`;
        if (known.raisedMs !== undefined) tell(event(setup.id, known, timeMs, { state: 'cleared', message }));
        continue;
      }
      const where = known.side === 'high' ? 'above' : 'below';
      const message = `Temperature is ${value}, ${where} the band ${bandText('temperature', band, {})} for ${durationText(timeMs - known.sinceMs)}. ${firstCheck('temperature', known.side)}`;
      if (known.raisedMs === undefined) {
        if (timeMs - known.sinceMs < onDelayMs) continue;
        known.raisedMs = timeMs;
        tell(event(setup.id, known, timeMs, { state: 'raised', message }));
      } else if (known.isSeen !== true && timeMs - known.raisedMs >= seenAfterMs) {
        known.isSeen = true;
        tell(event(setup.id, known, timeMs, { state: 'acknowledged', message }));
      }
    }
  };
}
