import { useEffect, useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import type { RunAnswer } from '../../../api/runs.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { unbroken } from '../kit/words.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { BagPart } from './bag-part.tsx';
import { BathPart } from './bath-part.tsx';
import { Cautions, Failure, Twice, VerdictShape } from './fields.tsx';
import { send } from './hub-ask.ts';
import { follow } from './sounding.ts';
import { StepAtHand } from './step-at-hand.tsx';

/** Also what another device did shows soon. */
const lookEveryMs = 3000;

/** The true minutes of a step that had some: the record must not say 60 where it was 12. */
function tookText({ took_minutes: took }: RunAnswer['done'][number], minutes: number | null): string {
  if (minutes === null) return '';
  return took === null
    ? ', not timed'
    : unbroken(`, took ${took < 10 ? Number(took.toFixed(1)) : Math.round(took)} min`);
}

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
                  : 'to do'
                : `done ${momentText(Date.parse(record.done), zone)}${tookText(record, minutes)}`}
            </small>
          </li>
        );
      })}
    </ol>
  );
}

/** A protocol at work: one step after the other, with its time, its water and its cautions. */
export function ChecklistPage({ id, arrival, view }: { id: string; arrival: string; view: RoomView }) {
  const asked = { params: { run: id } };
  const { answer: run, failure, know } = useAnswer('GET /api/runs/:run', asked, lookEveryMs);
  const { answer: protocols } = useAnswer('GET /api/protocols', {}, 600_000);
  const [trouble, setTrouble] = useState('');
  const { timezone } = view;

  useEffect(() => {
    if (run !== undefined) follow(run.id, run.timer ?? undefined);
  }, [run?.timer?.started, run?.step]);

  async function undo(): Promise<void> {
    setTrouble('');
    const answer = await send('POST /api/runs/:run/undo', asked);
    if (answer.ok) know(answer.body);
    else setTrouble(answer.problem.detail);
  }

  async function giveUp(): Promise<void> {
    setTrouble('');
    const answer = await send('DELETE /api/runs/:run', asked);
    if (!answer.ok) {
      setTrouble(answer.problem.detail);
      return;
    }
    follow(id, undefined);
    location.hash = arrivalAddress(arrival);
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
        {run?.protocol ?? 'Checklist'}
      </h2>
      <Failure text={failure} />
      {run !== undefined && (
        <div class="checklist-parts">
          <div class="checklist-now">
            <StepAtHand
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
                <button type="button" onClick={() => void undo()}>
                  Undo: {last.words}
                </button>
              )}
              <Twice
                words={run.is_finished ? 'Archive checklist' : 'Abandon checklist'}
                sure="Yes, remove it"
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
