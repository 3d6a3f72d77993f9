import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { planOfPump } from './hand-work.ts';
import { type HistorySink, pastReadings } from './history.ts';
import { keepersDay } from './keepers-day.ts';
import { watchPast, withMishaps } from './past-alarms.ts';
import type { DemoRoom, SystemState } from './reef-system.ts';
import { quietRoom, stepRoom } from './room.ts';
import type { Random } from './seeded-random.ts';

/** Two months in all, with the two weeks that the history tells by the minute. */
const olderDays = 46;
/** Coarse as the summaries that months are read by, and fine enough for a curve of a week. */
const stepS = 600;
/** A heater of 1 W a litre moves the water by 0.08 °C in it, less than its thermostat lets it. */
const longestStepS = 300;
const readEverySteps = 3;
/** The keeper looks at the plan once a week and lets the pump follow what the corals use. */
const planEveryDays = 7;

/** As of the history, and the alarms that came and went. */
export type OlderSink = HistorySink & { alarm(event: AlarmEvent): void };

/**
 * The six weeks before the history: smaller corals that grew to what they are now, and a pump that followed them week by week.
 *
 * @param untilMs  where the history begins
 * @param bandsOf  of a system, by which its alarms are told
 * @returns the room at the beginning of the history, with its corals, its pump and its water
 */
export function playOlderPast(
  untilMs: number,
  utcOffsetMinutes: number,
  random: Random,
  sink: OlderSink,
  bandsOf: (system: string) => Bands,
): DemoRoom {
  const firstMs = untilMs - olderDays * dayMs;
  let room = youngRoom(firstMs, utcOffsetMinutes);
  let planned = Number.NEGATIVE_INFINITY;
  const watch = watchPast(bandsOf, (event) => sink.alarm(event));
  for (let step = 0; room.timeMs < untilMs; step += 1) {
    if (room.timeMs - planned >= planEveryDays * dayMs) {
      room = { ...room, systems: room.systems.map(withPlan) };
      planned = room.timeMs;
      for (const system of room.systems)
        for (const entry of planOfPump(system, planned)) sink.enter({ kind: 'plan', entry });
    }
    if (step % readEverySteps === 0) sink.readings(pastReadings(room, random));
    room = withMishaps(room, firstMs);
    watch(room);
    const stepped = stepRoom(room, Math.min(stepS, (untilMs - room.timeMs) / 1000), random, longestStepS);
    const after = keepersDay(room, stepped, random);
    // What the pump gives is its plan: entered dose by dose it would be written down twice.
    for (const given of after.given) if (given.kind !== 'dose') sink.enter(given);
    room = after.room;
  }
  // From here on the doses are entered one by one.
  for (const system of room.systems)
    for (const entry of planOfPump(system, untilMs, 0)) sink.enter({ kind: 'plan', entry });
  // The two weeks that follow are balanced from their own beginning: water that is a little lower would leave its band in them.
  return quietRoom(untilMs, utcOffsetMinutes);
}

function youngRoom(timeMs: number, utcOffsetMinutes: number): DemoRoom {
  const room = quietRoom(timeMs, utcOffsetMinutes);
  const young = (system: SystemState): SystemState => {
    const growth = 1 + system.setup.growth_percent_day / 100;
    return { ...system, calcification_dKH_day: system.setup.calcification_dKH_day / growth ** olderDays };
  };
  return { ...room, systems: room.systems.map(young) };
}

/** The pump gives what the corals use at this size; its rates in the setup belong to those of the history's first day. */
function withPlan(system: SystemState): SystemState {
  const now = quietRoom(0, 0).systems.find(({ setup }) => setup.id === system.setup.id)?.setup ?? system.setup;
  // Halfway through the week to come, so that the level swings around its middle and does not sink through each week.
  const middle = (1 + system.setup.growth_percent_day / 100) ** (planEveryDays / 2);
  const share = (system.calcification_dKH_day * middle) / now.calcification_dKH_day;
  const { sodiumCarbonate, calciumChloride } = now.dosing_mL_day;
  const dosing_mL_day = { sodiumCarbonate: sodiumCarbonate * share, calciumChloride: calciumChloride * share };
  return { ...system, setup: { ...system.setup, dosing_mL_day } };
}
