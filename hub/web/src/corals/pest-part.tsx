import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import { axisDate } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { CarePast } from './care-past.tsx';
import { Asked, Choice, LongField, NumberField, Submit, VerdictShape, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';

/** What can be watched for, ours and the keeper's own, as choices; the one of now alone while the hub has not answered. */
export function usePestOptions(now: string): { id: string; words: string }[] {
  const { answer } = useAnswer('GET /api/pests', {}, 600_000);
  const known = (answer?.pests ?? []).map(({ id, label }) => ({ id, words: label }));
  return known.some(({ id }) => id === now) ? known : [{ id: now, words: now.replaceAll('_', ' ') }, ...known];
}

type Task = NonNullable<ArrivalAnswer['watch']>['tasks'][number];

const stateWords: Record<Task['state'], string> = { done: 'done', planned: 'planned', due: 'due', late: 'late' };
const shapeOf = { done: 'matches', planned: 'not_known', due: 'differs', late: 'differs' } as const;

/** What is near: all that is open, and the last two that are done. */
function near(tasks: readonly Task[]): Task[] {
  const done = tasks.filter(({ state }) => state === 'done').slice(-2);
  return [...done, ...tasks.filter(({ state }) => state !== 'done').slice(0, 6)];
}

export type PartProps = { arrival: ArrivalAnswer; zone: string; know(arrival: ArrivalAnswer): void };

/** The weeks of looking for pests: what is due, what was seen, and which pest it was. */
export function PestPart({ arrival, zone, know }: PartProps) {
  const { watch } = arrival;
  const seen = useForm(`inspection.${arrival.id}`, { findings: '', again: '' });
  const pest = useForm(`pest.${arrival.id}`, { pest: arrival.pest });
  const options = usePestOptions(arrival.pest);
  const dip = useForm(`dip.${arrival.id}`, {});
  const day = (time: string) => axisDate(Date.parse(time), zone, { weekday: 'short', day: 'numeric', month: 'short' });
  const params = { id: arrival.id };

  async function store(): Promise<void> {
    const check = checked(seen);
    const findings = check.neededText('findings', 'Enter what you saw, even if it was nothing.');
    if (!check.isGood()) return;
    const answer = await seen.submit('POST /api/arrivals/:id/inspections', {
      params,
      body: given({ findings, look_again_days: check.number('again') }),
    });
    if (answer === undefined) return;
    seen.clear();
    know(answer);
  }

  async function storePest(): Promise<void> {
    const answer = await pest.submit('POST /api/arrivals/:id/pest', { params, body: { pest: pest.values['pest'] } });
    if (answer === undefined) return;
    pest.clear({ pest: answer.pest });
    know(answer);
  }

  async function storeDip(): Promise<void> {
    const answer = await dip.submit('POST /api/arrivals/:id/dips', { params });
    if (answer !== undefined) know(answer);
  }

  if (watch === null) return null;
  return (
    <section class="part" aria-labelledby="pests">
      <h3 id="pests">Watch for pests</h3>
      <p class="said">{watch.text}</p>
      <p>Look for {watch.look_for}.</p>
      <Warnings texts={watch.warnings} />
      <ul class="tasks">
        {near(watch.tasks).map((task) => (
          <li key={`${task.kind} ${task.due}`} class={`task-${task.state}`}>
            <VerdictShape is={shapeOf[task.state]} />
            <span>{day(task.due)}</span>
            <span>
              {task.kind === 'dip' ? 'Repeat dip' : task.is_look_again ? 'Look again' : 'Inspection'}
              {task.opens !== null && task.closes !== null && ` (${day(task.opens)} to ${day(task.closes)})`}
            </span>
            <b>{stateWords[task.state]}</b>
          </li>
        ))}
      </ul>
      {watch.clear !== null && <p class="aside">The watch ends on {day(watch.clear)} if nothing is found.</p>}
      <Asked label="What you saw" onSend={() => void store()} isBusy={seen.isBusy}>
        <LongField form={seen} name="findings" label="What you saw under the magnifier" />
        <NumberField form={seen} name="again" label="Look again in how many days (if you saw something)" />
        <div class="buttons">
          <Submit form={seen} words="Save inspection" />
          {seen.values['findings'] === '' && (
            <button type="button" onClick={() => seen.set('findings', 'nothing found')}>
              Nothing found
            </button>
          )}
        </div>
      </Asked>
      <div class="side-by-side">
        <Asked label="Pest found" onSend={() => void storePest()} isBusy={pest.isBusy}>
          <div class="asked-row">
            <Choice form={pest} name="pest" label="Pest" options={options} />
            <Submit form={pest} words="Save pest" isQuiet />
          </div>
        </Asked>
        <Asked label="Dip without a checklist" onSend={() => void storeDip()} isBusy={dip.isBusy}>
          <Submit form={dip} words="Log a dip without a checklist" isQuiet />
        </Asked>
      </div>
      <CarePast arrival={arrival} zone={zone} know={know} />
      <p class="aside">Source: {watch.source}.</p>
    </section>
  );
}
