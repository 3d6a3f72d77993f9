import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { RunAnswer } from '../../../api/runs.ts';
import { countdown } from '../kit/countdown.ts';
import { capital, unbroken } from '../kit/words.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { BigTimer } from './big-timer.tsx';
import { Asked, LongField, Submit, Twice, Warnings } from './fields.tsx';
import { useForm } from './form.ts';
import { send } from './hub-ask.ts';
import { arm } from './sounding.ts';

const startWords: Record<string, string> = {
  float: 'The bags float: start',
  soak: 'The pieces are in: start',
};

const doneWords: Record<string, string> = {
  soak: 'They are out: done',
};

type AtHandProps = {
  run: RunAnswer;
  zone: string;
  know(run: RunAnswer): void;
  /** Read before the step is done: amounts and cautions of a bath that is being made. */
  before: ComponentChildren;
};

/** The step at hand for wet hands: what it is, its clock, one large button, and what comes next in small. */
export function StepAtHand({ run, zone, know, before }: AtHandProps) {
  const step = run.steps[run.step - 1];
  const next = run.steps[run.step];
  const isInspection = step?.step === 'inspection';
  const form = useForm(`step.${run.id}.${run.step}`, { findings: '' });
  const [trouble, setTrouble] = useState('');
  const [wasWritten] = useState(form.values['findings'] !== '');
  const params = { run: run.id };
  // Read, so that the button changes in the second in which the time is over.
  void nowMs.value;
  const leftMs = run.timer === null ? 0 : Date.parse(run.timer.ends) - hubNowMs();
  const isTimed = step !== undefined && step.minutes !== null;
  const mustStart = isTimed && run.timer === null;

  async function startTimer(): Promise<void> {
    setTrouble('');
    // The touch that starts the clock is also the one that a browser asks for before it sounds.
    arm();
    const answer = await send('POST /api/runs/:run/timer', { params });
    if (answer.ok) know(answer.body);
    else setTrouble(answer.problem.detail);
  }

  async function done(early: boolean): Promise<void> {
    const findings = (form.values['findings'] ?? '').trim();
    if (isInspection && findings === '') {
      form.refuse({ findings: 'Enter what you saw, even if it was nothing.' });
      return;
    }
    const body = { ...(findings === '' ? {} : { findings }), ...(early ? { early } : {}) };
    const told = await form.submit('POST /api/runs/:run/done', { params, body });
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
        {capital(step.words)}
      </p>
      {/* Read before the pieces go in; afterwards the clock is what counts. */}
      {run.timer === null && run.bath_check !== null && <Warnings texts={run.bath_check.warnings} />}
      {before}
      {run.timer !== null && (
        <BigTimer run={run.id} timer={run.timer} what={step.words} zone={zone} isSoak={step.step === 'soak'} />
      )}
      {mustStart && (
        <button type="button" class="wide primary" onClick={() => void startTimer()}>
          {unbroken(`${startWords[step.step] ?? 'Start'} ${step.minutes} minutes`)}
        </button>
      )}
      {trouble !== '' && (
        <p class="asked-error" role="alert">
          {trouble}
        </p>
      )}
      <Asked label="Step at hand" onSend={() => void done(false)} isBusy={form.isBusy}>
        {isInspection && <LongField form={form} name="findings" label="What you see: bases, undersides, eggs, bites" />}
        {isInspection && form.values['findings'] === '' && (
          <button type="button" onClick={() => form.set('findings', 'nothing found')}>
            Nothing found
          </button>
        )}
        {!mustStart && leftMs <= 0 && (
          <div class="wide-submit">
            <Submit form={form} words={doneWords[step.step] ?? 'Done'} />
          </div>
        )}
        <NextStep run={run} next={next} />
        {leftMs > 0 && (
          <Twice
            words="End it early"
            sure={unbroken(`${countdown(leftMs)} left: end it now`)}
            onSure={() => void done(true)}
          />
        )}
        {mustStart && step.step !== 'soak' && (
          <Twice
            words="Done without the timer"
            sure={unbroken(`Yes, without timing the ${step.minutes} minutes`)}
            onSure={() => void done(true)}
          />
        )}
        {!isInspection && (
          <details open={wasWritten}>
            <summary>Add a note</summary>
            <LongField form={form} name="findings" label="Note for this step" />
          </details>
        )}
        {(leftMs > 0 || mustStart) && form.trouble !== '' && (
          <p class="asked-error" role="alert">
            {form.trouble}
          </p>
        )}
      </Asked>
    </section>
  );
}

function NextStep({ run, next }: { run: RunAnswer; next: RunAnswer['steps'][number] | undefined }) {
  if (run.is_finished) return null;
  if (next === undefined) return <p class="aside">Next: nothing, this is the last step.</p>;
  return (
    <p class="aside">
      Next: {next.words}
      {next.minutes !== null && unbroken(`, ${next.minutes} min`)}
    </p>
  );
}
