import { quarantinePractice } from '#rules/arrivals/arrival-cautions.ts';
import type { DipBath } from '#rules/arrivals/bath.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { lightCautions } from '#rules/arrivals/light-plan.ts';
import type { BatchMatch } from '#rules/arrivals/new-water.ts';
import { stepCautions } from '#rules/arrivals/protocol.ts';
import type { ShockVerdict } from '#rules/arrivals/shock.ts';
import type { ArrivalAnswer } from '../../api/arrivals.ts';
import type { MatchAnswer } from '../../api/batches.ts';
import type { BathAnswer, BathCheckAnswer, RunAnswer, ShockAnswer } from '../../api/runs.ts';
import { batchFor } from '../../judgement/arrivals/arrival-day.ts';
import { type Arrival, quarantineEndsMs } from '../../judgement/arrivals/arrivals-state.ts';
import { type BathCheck, bathAtStep } from '../../judgement/arrivals/bath-of-run.ts';
import { dateOfDay, dayOfPlan } from '../../judgement/arrivals/light-of-arrival.ts';
import type { Livestock } from '../../judgement/arrivals/livestock.ts';
import { stepWords } from '../../judgement/arrivals/timer-lines.ts';
import { localDate } from '../../model/calendar/local-day.ts';

/** Arrivals and their runs as the API tells them. */

const instant = (timeMs: number) => new Date(timeMs).toISOString();
const instantOrNull = (timeMs: number | undefined) => (timeMs === undefined ? null : instant(timeMs));

export function bathView(bath: DipBath): BathAnswer {
  return {
    tank_l: bath.tankL,
    bag_l: bath.bagL,
    replace_l: bath.replaceL,
    rinse_l: bath.rinseL,
    fresh_l: bath.freshL,
    reagents: bath.reagents.map(({ name, volume_mL }) => ({ name, volume_ml: volume_mL })),
    soak_minutes: bath.soakMinutes,
    cautions: bath.cautions,
  };
}

export function shockView({ isLarge, unknown, warnings, differences }: ShockVerdict): ShockAnswer {
  return {
    is_large: isLarge,
    unknown,
    warnings,
    differences: differences.map(({ metric, from, to, isLarge: large }) => ({ metric, from, to, is_large: large })),
  };
}

export function bathCheckView({ water, by, toTank, fromBag, warnings }: BathCheck): BathCheckAnswer {
  return {
    water,
    by,
    to_tank: shockView(toTank),
    warnings,
    from_bag: fromBag === undefined ? null : shockView(fromBag),
  };
}

export function matchView({ isReady, metrics }: BatchMatch): MatchAnswer {
  return { is_ready: isReady, metrics: metrics.map(({ metric, verdict, text }) => ({ metric, verdict, text })) };
}

export function runView(livestock: Livestock, run: ChecklistRun, nowMs: number): RunAnswer {
  const { runs, batches } = livestock;
  const facts = runs.facts(run.id);
  const step = run.protocol.steps[run.step];
  const isBefore = step?.kind === 'dip_bath' || step?.kind === 'soak';
  // Shown while rinsing too: then the tank gets back what the dip took.
  const isShown = isBefore || step?.kind === 'swirl_and_rinse_off' || step?.kind === 'rinse_bath';
  const bath = isShown ? bathAtStep(run.protocol, facts, run.step) : undefined;
  const isRinse = step?.kind === 'rinse_bath' || step?.kind === 'dip_bath';
  return {
    id: run.id,
    arrival: run.arrivalId,
    protocol: run.protocol.name,
    step: run.step + 1,
    steps: run.protocol.steps.map((each) => ({
      step: each.kind,
      words: stepWords[each.kind],
      minutes: 'minutes' in each ? (each.minutes ?? null) : null,
    })),
    is_finished: step === undefined,
    words: step === undefined ? 'all steps are done' : stepWords[step.kind],
    cautions: step === undefined ? [] : [...stepCautions(step.kind)],
    timer:
      run.timer === undefined
        ? null
        : {
            started: instant(run.timer.startedMs),
            ends: instant(run.timer.endsMs),
            maximum: instantOrNull(run.timer.maximumMs),
            left_seconds: Math.round((run.timer.endsMs - nowMs) / 1000),
          },
    bath: bath === undefined ? null : bathView(bath),
    bath_check: bath === undefined || !isBefore ? null : bathCheckView(runs.checkBath(run.id, nowMs)),
    new_water: isRinse && facts.batch !== undefined ? matchView(batches.match(facts.batch, nowMs)) : null,
    done: run.done.map((record) => ({
      step: record.step + 1,
      words: stepWords[record.kind],
      done: instant(record.doneMs),
      findings: record.findings ?? null,
      took_minutes: record.tookMinutes ?? null,
      early_minutes: record.timer === undefined ? null : Math.max(0, record.timer.endsMs - record.doneMs) / 60_000,
    })),
  };
}

export function arrivalView(
  { care, runs, batches }: Livestock,
  arrival: Arrival,
  nowMs: number,
  timezone: string,
): ArrivalAnswer {
  const { light } = arrival;
  return {
    id: arrival.id,
    system: arrival.system,
    name: arrival.name,
    source: arrival.source ?? null,
    pieces: arrival.pieces,
    state: arrival.state,
    pest: arrival.pest,
    expected: instantOrNull(arrival.expectedMs),
    arrived: instantOrNull(arrival.arrivedMs),
    water: waterView(batches, arrival),
    tank_only_because: arrival.tankOnlyBecause ?? null,
    dips: arrival.dipsMs.map(instant),
    inspections: arrival.inspections.map(({ timeMs, findings }) => ({ time: instant(timeMs), findings })),
    runs: runs.of(arrival.id).map(({ id }) => id),
    quarantine:
      arrival.quarantineDays === undefined
        ? null
        : {
            days: arrival.quarantineDays,
            ends: instantOrNull(quarantineEndsMs(arrival)),
            practice: [...quarantinePractice],
          },
    watch: watchView(care, arrival, nowMs),
    light:
      light === undefined
        ? null
        : {
            today: dayOfPlan(light, nowMs, timezone),
            target_dli: light.plan.target_mol_m2,
            moved: instantOrNull(light.movedMs),
            is_moved_today:
              light.movedMs !== undefined && localDate(light.movedMs, timezone) === localDate(nowMs, timezone),
            days: light.plan.days.map(({ day, height_cm, par_umol_m2_s, dli_mol_m2 }) => ({
              day,
              date: dateOfDay(light, day),
              height_cm,
              par: par_umol_m2_s,
              dli: dli_mol_m2,
            })),
            cautions: lightCautions(light.plan),
          },
    demand: demandView(care, arrival, nowMs),
  };
}

function waterView(batches: Livestock['batches'], { id, water, tankOnlyBecause }: Arrival): ArrivalAnswer['water'] {
  if (water === undefined) return null;
  return {
    baths: water.baths,
    bath_l: water.bathL,
    rinse_l: water.rinseL,
    tank_share: tankOnlyBecause === undefined ? water.tankShare : 1,
    fresh_l: water.freshL,
    salt_g: water.salt_g,
    salinity: water.salinity,
    salt: water.salt ?? null,
    grams_per_litre_at_35: water.gramsPerLitreAt35 ?? null,
    batch: batchFor(batches.all(), id)?.id ?? null,
  };
}

function watchView(care: Livestock['care'], arrival: Arrival, nowMs: number): ArrivalAnswer['watch'] {
  const watch = care.pestWatch(arrival, nowMs);
  if (watch === undefined) return null;
  return {
    text: watch.text,
    look_for: watch.lookFor,
    source: watch.source,
    days_measured: watch.daysMeasured,
    mean_measured_c: watch.meanMeasured_C ?? null,
    measured_share: watch.plan?.measuredShare ?? null,
    clear: instantOrNull(watch.plan?.clearMs),
    tasks: (watch.plan?.tasks ?? []).map(({ kind, dueMs, opensMs, closesMs, state, isLookAgain }) => ({
      is_look_again: isLookAgain === true,
      kind,
      due: instant(dueMs),
      opens: instantOrNull(opensMs),
      closes: instantOrNull(closesMs),
      state,
    })),
    warnings: watch.plan?.warnings ?? [],
  };
}

function demandView(care: Livestock['care'], arrival: Arrival, nowMs: number): ArrivalAnswer['demand'] {
  const demand = care.demand(arrival, nowMs);
  if (demand === undefined) return null;
  const shown = (found: { perDay: number; sd: number } | undefined) =>
    found === undefined ? null : { per_day: found.perDay, sd: found.sd };
  return {
    before: shown(demand.before),
    after: shown(demand.after),
    added: shown(demand.added),
    tests_since: demand.testsSince,
    watch_ends: instant(demand.watchEndsMs),
    text: demand.text,
  };
}
