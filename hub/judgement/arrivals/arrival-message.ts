import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { phoneLine } from '../notices/phone-line.ts';
import type { Arrivals } from './arrivals.ts';
import { lightLine } from './light-of-arrival.ts';
import type { Runs } from './runs.ts';
import { stepWords } from './timer-lines.ts';

/** What became of a line from a phone: the answer, or why it was not taken. */
export type ArrivalMessage = { ok: true; answer: string } | { ok: false; why: string };

const need =
  'need: arrival <id> next, arrival <id> done [what you saw], arrival <id> early [what you saw], arrival <id> hold [days], arrival <id> back [days]';
const pattern = /^arrival (\S{1,60}) (next|done|early|hold|back)(?: (.{1,1000}))?$/is;

/**
 * Commands of a person with wet hands. `<id>` is an arrival, or one of its runs when it has several: a1, a1-2.
 *
 * `next`: starts the timer of the step at hand, or where it has none, or one that runs already, ends the step.
 * `done`: ends the step; words behind it are kept as findings. Both ask when its minutes are not over: `early` ends it then. `hold`, `back`: the light plan, by 3 days unless given.
 */
export function answerArrivalMessage(
  livestock: { arrivals: Arrivals; runs: Runs },
  text: string,
  nowMs: number,
  timezone: string,
): ArrivalMessage | undefined {
  const plain = text.trim().replace(/\s+/g, ' ');
  if (!/^arrival\b/i.test(plain)) return undefined;
  const [, id = '', what = '', rest] = pattern.exec(plain) ?? [];
  if (id === '') return { ok: false, why: need };
  try {
    const verb = what.toLowerCase();
    if (verb === 'hold' || verb === 'back')
      return { ok: true, answer: moveLight(livestock, id, verb, rest, nowMs, timezone) };
    const run = openRun(livestock, id);
    const timed = run.timer === undefined && hasTimer(run);
    const after =
      verb === 'next' && timed
        ? livestock.runs.startTimer(run.id, nowMs)
        : livestock.runs.stepDone(run.id, { findings: rest, early: verb === 'early' }, nowMs);
    return { ok: true, answer: whereItStands(after, nowMs) };
  } catch (error) {
    if (error instanceof Refused) {
      const more = error.problem === 'too_early' ? ` To end it all the same: arrival ${id} early` : '';
      return { ok: false, why: `${error.message}${more}` };
    }
    throw error;
  }
}

function openRun({ arrivals, runs }: { arrivals: Arrivals; runs: Runs }, id: string): ChecklistRun {
  if (/^a\d+-\d+$/.test(id)) return runs.run(id);
  const open = runs.of(arrivals.find(id).id).filter((run) => run.step < run.protocol.steps.length);
  const [only, ...others] = open;
  if (only === undefined) throw new Refused('unknown_run', `${id} has no checklist that is not finished`);
  if (others.length === 0) return only;
  throw new Refused('not_now', `${id} has several checklists, name one: ${open.map((run) => run.id).join(', ')}`);
}

function moveLight(
  { arrivals }: { arrivals: Arrivals },
  id: string,
  verb: 'hold' | 'back',
  rest: string | undefined,
  nowMs: number,
  timezone: string,
): string {
  const days = rest === undefined ? 3 : Number(rest);
  if (!Number.isInteger(days)) throw new Refused('out_of_range', `days: found "${rest}", need a whole number`);
  const change =
    verb === 'hold'
      ? { kind: 'hold' as const, forDays: days }
      : { kind: 'step_back' as const, byDays: days, forDays: days };
  const { light, name } = arrivals.changeLight(id, change, nowMs);
  const line = light === undefined ? undefined : lightLine(light, nowMs, timezone);
  return phoneLine(`${name} (${id}): ${line ?? 'light plan redone.'}`);
}

const hasTimer = (run: ChecklistRun): boolean => {
  const step = run.protocol.steps[run.step];
  return step !== undefined && 'minutes' in step && step.minutes !== undefined;
};

/** The step at hand in a line. */
export function whereItStands(run: ChecklistRun, nowMs: number): string {
  const step = run.protocol.steps[run.step];
  if (step === undefined) return phoneLine(`${run.id}: all steps are done.`);
  const count = `step ${run.step + 1} of ${run.protocol.steps.length}`;
  const left = run.timer === undefined ? undefined : Math.ceil((run.timer.endsMs - nowMs) / 60_000);
  const minutes = hasTimer(run) && 'minutes' in step ? ` (${step.minutes} min: next starts the timer)` : '';
  const time = left === undefined ? minutes : `, ${left} min left`;
  return phoneLine(`${run.id}: ${count}, ${stepWords[step.kind]}${time}.`);
}
