import type { ComponentChildren } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import type { RunAnswer } from '../../../http/arrival-view.ts';
import type { RoomView } from '../../../http/room-view.ts';
import type { ProtocolsAnswer } from '../../../http/routes-arrivals.ts';
import { momentText } from '../kit/times.ts';
import { unbroken } from '../kit/words.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { BagPart } from './bag-part.tsx';
import { BathPart } from './bath-part.tsx';
import { BigTimer } from './big-timer.tsx';
import { Asked, Cautions, Failure, LongField, Submit, Twice, VerdictShape, Warnings } from './fields.tsx';
import { useForm } from './form.ts';
import { send, useReading } from './hub-ask.ts';
import { arm, follow } from './sounding.ts';

/** Also what another device did shows soon. */
const lookEveryMs = 3000;

/** The first letter large, as a heading begins. */
const headed = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);

/** Steps that were done, the one at hand and those to come; told apart by shape and word. */
function Steps({ run, zone }: { run: RunAnswer; zone: string }) {
  return (
    <ol class="steps" aria-label="Steps">
      {run.steps.map(({ words, minutes }, place) => {
        const record = run.done.find(({ step }) => step === place + 1);
        const is = record !== undefined ? 'done' : place + 1 === run.step ? 'now' : 'ahead';
        return (
          <li key={place} class={`step-${is}`} {...(is === 'now' ? { 'aria-current': 'step' as const } : {})}>
            <VerdictShape is={is === 'done' ? 'matches' : is === 'now' ? 'now' : 'not_known'} />
            <span>
              {words}
              {minutes !== null && unbroken(`, ${minutes} min`)}
              {record?.findings !== null && record !== undefined && <em> {record.findings}</em>}
            </span>
            <small>
              {record === undefined
                ? is === 'now'
                  ? 'now'
                  : 'to come'
                : `done ${momentText(Date.parse(record.done), zone)}`}
            </small>
          </li>
        );
      })}
    </ol>
  );
}

const startWords: Record<string, string> = {
  float: 'The bags float: start',
  soak: 'The pieces are in: start',
};

type AtHandProps = { run: RunAnswer; zone: string; know(run: RunAnswer): void; before: ComponentChildren };

/** @param before  what is read before the step is done: amounts and cautions of a bath that is being made */
function AtHand({ run, zone, know, before }: AtHandProps) {
  const step = run.steps[run.step - 1];
  const isInspection = step?.step === 'inspection';
  const form = useForm(`step.${run.id}.${run.step}`, { findings: '' });
  const [trouble, setTrouble] = useState('');
  const [wasWritten] = useState(form.values['findings'] !== '');
  const at = `runs/${encodeURIComponent(run.id)}`;
  const mustStart = step?.step === 'soak' && run.timer === null;

  async function startTimer(): Promise<void> {
    setTrouble('');
    // The touch that starts the clock is also the one that a browser asks for before it sounds.
    arm();
    const answer = await send<RunAnswer>(`${at}/timer`, {});
    if (answer.ok) know(answer.body);
    else setTrouble(answer.problem.detail);
  }

  async function done(): Promise<void> {
    const findings = (form.values['findings'] ?? '').trim();
    if (isInspection && findings === '') {
      form.refuse({ findings: 'Write what you saw, also that it was nothing.' });
      return;
    }
    const told = await form.submit<RunAnswer>(`${at}/done`, findings === '' ? {} : { findings });
    if (told === undefined) return;
    form.clear();
    know(told);
  }

  if (step === undefined) return <p class="said">All steps are done.</p>;
  return (
    <section class="at-hand" aria-label="Step at hand">
      <p class="at-hand-place">
        Step {run.step} of {run.steps.length}
      </p>
      <p class="sentence" role="status">
        {headed(step.words)}
      </p>
      {/* Read before the pieces go in; afterwards the clock is what counts. */}
      {run.timer === null && run.bath_check !== null && <Warnings texts={run.bath_check.warnings} />}
      {before}
      {run.timer !== null && <BigTimer run={run.id} timer={run.timer} what={step.words} zone={zone} />}
      {run.timer === null && step.minutes !== null && (
        <button type="button" class={`wide ${mustStart ? 'primary' : ''}`} onClick={() => void startTimer()}>
          {unbroken(`${startWords[step.step] ?? 'Start'} ${step.minutes} minutes`)}
        </button>
      )}
      {trouble !== '' && (
        <p class="asked-error" role="alert">
          {trouble}
        </p>
      )}
      <Asked label="Step at hand" onSend={() => void done()} isBusy={form.isBusy}>
        {isInspection ? (
          <LongField form={form} name="findings" label="What you see: bases, undersides, eggs, bites" />
        ) : (
          <details open={wasWritten}>
            <summary>Write something down</summary>
            <LongField form={form} name="findings" label="Note for this step" />
          </details>
        )}
        {isInspection && form.values['findings'] === '' && (
          <button type="button" onClick={() => form.set('findings', 'nothing found')}>
            Nothing found
          </button>
        )}
        {!mustStart && (
          <div class="wide-submit">
            <Submit form={form} words={run.timer !== null && step.step === 'soak' ? 'They are out: done' : 'Done'} />
          </div>
        )}
      </Asked>
    </section>
  );
}

/** A protocol at work: one step after the other, with its time, its water and its cautions. */
export function ChecklistPage({ id, arrival, view }: { id: string; arrival: string; view: RoomView }) {
  const at = `runs/${encodeURIComponent(id)}`;
  const { told: run, failure, know } = useReading<RunAnswer>(at, lookEveryMs);
  const { told: protocols } = useReading<ProtocolsAnswer>('protocols', 600_000);
  const [trouble, setTrouble] = useState('');
  const { timezone } = view;

  useEffect(() => {
    if (run !== undefined) follow(run.id, run.timer ?? undefined);
  }, [run?.timer?.started, run?.step]);

  async function act(path: string, method: 'POST' | 'DELETE'): Promise<boolean> {
    setTrouble('');
    const answer = await send<RunAnswer>(path, {}, method);
    if (!answer.ok) setTrouble(answer.problem.detail);
    else if (method === 'POST') know(answer.body);
    return answer.ok;
  }

  async function giveUp(): Promise<void> {
    if (await act(at, 'DELETE')) {
      follow(id, undefined);
      location.hash = arrivalAddress(arrival);
    }
  }

  const last = run?.done.at(-1);
  const kind = run?.steps[run.step - 1]?.step;
  const isWet = kind !== undefined && kind !== 'float' && kind !== 'acclimate' && kind !== 'placement';
  const isBathMade = kind === 'dip_bath';
  const reading = run !== undefined && (
    <>
      <BathPart run={run} said={[...run.cautions, protocols?.emergency ?? '']} know={know} />
      {(kind === 'float' || kind === 'acclimate') && <BagPart arrival={arrival} />}
      <Cautions texts={run.cautions} />
      {isWet && run.cautions.length > 0 && protocols !== undefined && <p class="aside">{protocols.emergency}</p>}
    </>
  );
  return (
    <main class="page checklist">
      <p class="way-back">
        <a href={arrivalAddress(arrival)}>Back to the arrival</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        {run?.protocol ?? 'Checklist'} <small>{id}</small>
      </h2>
      <Failure text={failure} />
      {run !== undefined && (
        <div class="checklist-parts">
          <div class="checklist-now">
            <AtHand
              key={`${run.step} ${run.done.length}`}
              run={run}
              zone={timezone}
              know={know}
              before={isBathMade && reading}
            />
            {!isBathMade && reading}
          </div>
          <div class="checklist-way">
            <Steps run={run} zone={timezone} />
            <div class="buttons">
              {last !== undefined && run.timer === null && (
                <button type="button" onClick={() => void act(`${at}/undo`, 'POST')}>
                  Not done yet: {last.words}
                </button>
              )}
              <Twice
                words={run.is_finished ? 'Put this checklist away' : 'Give up this checklist'}
                sure="Yes, it goes"
                onSure={() => void giveUp()}
              />
            </div>
            {trouble !== '' && (
              <p class="asked-error" role="alert">
                {trouble}
              </p>
            )}
          </div>
        </div>
      )}
    </main>
  );
}
