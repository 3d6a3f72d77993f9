import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { illnesses } from '#rules/arrivals/illness.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { ArrivalFacts, BatchFacts, IllPiece, RunFacts } from '#rules/now/facts.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Arrival, quarantineEndsMs } from '../../judgement/arrivals/arrivals-state.ts';
import { bathAtStep } from '../../judgement/arrivals/bath-of-run.ts';
import { dayOfPlan } from '../../judgement/arrivals/light-of-arrival.ts';
import type { Livestock } from '../../judgement/arrivals/livestock.ts';
import { nextTasks } from '../../judgement/arrivals/pest-watch.ts';
import type { Batch } from '../../judgement/water/batches.ts';

/** Corals that came longer ago without a checklist were placed without one. */
const inBagsMs = 12 * hourMs;
/** New water older than this is used for something else, or forgotten. Common practice, no published source. */
const batchDays = 7;
/** Less is the rest in a bucket. */
const leastBatchL = 1;

/** Checklists that are not finished, each with its step at hand. */
export function runFacts({ arrivals, runs }: Livestock, timezone: string, nowMs: number): RunFacts[] {
  return arrivals.all().flatMap((arrival) =>
    runs
      .of(arrival.id)
      .filter((run) => run.step < run.protocol.steps.length)
      .map((run) => factsOfRun(run, arrival, runs.facts(run.id), timezone, nowMs)),
  );
}

function factsOfRun(
  run: ChecklistRun,
  arrival: Arrival,
  facts: Parameters<typeof bathAtStep>[1],
  timezone: string,
  nowMs: number,
): RunFacts {
  const step = run.protocol.steps[run.step]!;
  const next = run.protocol.steps[run.step + 1];
  const { timer } = run;
  const bath = step.kind === 'dip_bath' ? bathAtStep(run.protocol, facts, run.step) : undefined;
  const poured = bath?.reagents.map(({ name, volume_mL }) => `${volume_mL.toFixed(1)} mL ${name}`) ?? [];
  const height = step.kind === 'placement' ? heightToday(arrival, timezone, nowMs) : undefined;
  const amounts =
    bath !== undefined
      ? [`${bath.tankL.toFixed(1)} L from the tank`, `${bath.bagL.toFixed(1)} L from the bags`, ...poured].join(', ')
      : height !== undefined
        ? `rack at ${height.height_cm} cm`
        : undefined;
  return {
    run: run.id,
    arrival: arrival.id,
    arrivalName: arrival.name,
    system: arrival.system,
    step: step.kind,
    ...('minutes' in step && step.minutes !== undefined ? { minutes: step.minutes } : {}),
    ...defined({ amounts }),
    ...(next === undefined ? {} : { next: next.kind }),
    ...(timer === undefined
      ? {}
      : {
          clock: {
            startedMs: timer.startedMs,
            endsMs: timer.endsMs,
            ...defined({ maximumMs: timer.maximumMs }),
          },
        }),
    sinceMs: run.stepStartedMs,
  };
}

/** Where the rack stands today by the light plan; undefined before it, after it and without one. */
export function heightToday(
  { light }: { light?: Arrival['light'] | undefined },
  timezone: string,
  nowMs: number,
): { height_cm: number; day: number; days: number } | undefined {
  if (light === undefined) return undefined;
  const day = dayOfPlan(light, nowMs, timezone);
  const today = light.plan.days[day - 1];
  return today === undefined ? undefined : { height_cm: today.height_cm, day, days: light.plan.days.length };
}

/** The height of today, when the rack was not set to it: on the first day, and on each day on which the plan moves it. */
function rackToSet({ light }: Arrival, timezone: string, nowMs: number): ArrivalFacts['rack'] {
  const today = heightToday({ light }, timezone, nowMs);
  if (light === undefined || today === undefined) return undefined;
  const setOn = light.movedMs === undefined ? 0 : dayOfPlan(light, light.movedMs, timezone);
  return light.plan.days[setOn - 1]?.height_cm === today.height_cm ? undefined : today;
}

/** Open arrivals with what their care asks for. */
export function arrivalFacts(livestock: Livestock, timezone: string, nowMs: number): ArrivalFacts[] {
  const { arrivals, runs, care } = livestock;
  return arrivals.all().flatMap((arrival): ArrivalFacts[] => {
    const { id, name, system, state, arrivedMs, expectedMs } = arrival;
    if (state === 'closed') return [];
    const about = { arrival: id, name, system, state };
    if (state === 'expected') {
      const water = waterFor(livestock, arrival, nowMs);
      return [{ ...about, isInBags: false, water, ...defined({ expectedMs }) }];
    }
    const isInBags = runs.of(id).length === 0 && arrival.dipsMs.length === 0 && nowMs - (arrivedMs ?? 0) < inBagsMs;
    const watch = isInBags ? undefined : care.pestWatch(arrival, nowMs);
    const { dip, inspection } = nextTasks(watch?.plan?.tasks ?? [], nowMs);
    const endsMs = quarantineEndsMs(arrival);
    const rack = isInBags ? undefined : rackToSet(arrival, timezone, nowMs);
    return [
      {
        ...about,
        isInBags,
        ...defined({ arrivedMs, rack, quarantineEndsMs: endsMs }),
        ...(inspection === undefined
          ? {}
          : { inspection: { dueMs: inspection.dueMs, lookFor: watch?.lookFor ?? 'pests' } }),
        ...(dip === undefined
          ? {}
          : {
              dip: {
                dueMs: dip.dueMs,
                opensMs: dip.opensMs ?? dip.dueMs,
                isLate: dip.state === 'late',
                pest: watch?.pest ?? 'pests',
              },
            }),
      },
    ];
  });
}

/** Pieces that are here and were not well when somebody wrote of their health last. */
export function illPieces({ pieces }: Livestock): IllPiece[] {
  return pieces.all({ isHere: true }).flatMap(({ id, kind, system, ill }): IllPiece[] => {
    if (ill === undefined) return [];
    const { what, first } = illnesses[ill.sign];
    return [{ piece: id, name: `${kind} ${id}`, system, sinceMs: ill.sinceMs, what, first }];
  });
}

function waterFor({ batches }: Livestock, arrival: Arrival, nowMs: number): NonNullable<ArrivalFacts['water']> {
  const fresh = freshBatches(batches.all(), nowMs);
  const batch =
    fresh.find((each) => each.arrival === arrival.id) ??
    fresh.find(({ system, arrival: other }) => other === undefined && system === arrival.system);
  const litres = arrival.water === undefined ? {} : { litres: arrival.water.freshL };
  if (batch === undefined) return { is: 'none', ...litres };
  const { isReady, metrics } = batches.match(batch.id, nowMs);
  const why = metrics.find(({ verdict }) => verdict !== 'matches')?.text;
  return isReady ? { is: 'ready', batch: batch.id } : { is: 'unmatched', batch: batch.id, ...defined({ why }) };
}

/** Batches that stand there, the newest first. */
function freshBatches(all: readonly Batch[], nowMs: number): Batch[] {
  return all
    .filter(({ litres, usedL, madeMs }) => litres - usedL >= leastBatchL && nowMs - madeMs < batchDays * dayMs)
    .toReversed();
}

/** The newest batch of each tank, but for those that wait for an arrival, which speaks of them itself. */
export function batchFacts({ batches }: Livestock, arrivals: readonly ArrivalFacts[], nowMs: number): BatchFacts[] {
  const spokenOf = new Set(arrivals.map(({ water }) => water?.batch));
  const fresh = freshBatches(batches.all(), nowMs);
  const newest = fresh.filter((batch, place) => fresh.findIndex(({ system }) => system === batch.system) === place);
  return newest
    .filter(({ id }) => !spokenOf.has(id))
    .map((batch) => {
      const { isReady, metrics } = batches.match(batch.id, nowMs);
      const why = metrics.find(({ verdict }) => verdict !== 'matches')?.text;
      return {
        batch: batch.id,
        system: batch.system,
        litres: batch.litres - batch.usedL,
        isReady,
        madeMs: batch.madeMs,
        ...defined({ why }),
      };
    });
}
