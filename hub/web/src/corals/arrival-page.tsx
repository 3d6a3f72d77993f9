import { useState } from 'preact/hooks';
import { dayMs } from '#rules/clock/durations.ts';
import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import type { RoomView } from '../../../api/room.ts';
import { countdown } from '../kit/countdown.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { DeedLine } from '../now/now-list.tsx';
import { deedsOf } from '../now/now-state.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { BagPart } from './bag-part.tsx';
import { Failure, Twice, VerdictShape } from './fields.tsx';
import { send } from './hub-ask.ts';
import { LightPart } from './light-part.tsx';
import { PestPart } from './pest-part.tsx';
import { QuarantinePart } from './quarantine-part.tsx';
import { RegisterPart } from './register-part.tsx';
import { runAddress, StartRun } from './start-run.tsx';
import { phaseOf } from './timer.ts';

function RunItem({ id }: { id: string }) {
  const { answer: run } = useAnswer('GET /api/runs/:run', { params: { run: id } }, 5000);
  void nowMs.value;
  if (run === undefined) return null;
  const now = hubNowMs();
  const phase = run.timer === null ? undefined : phaseOf(run.timer, now);
  const left = run.timer === null ? 0 : Date.parse(run.timer.ends) - now;
  return (
    <li>
      <a class="arrival-item" href={runAddress(run)}>
        <b>{run.protocol}</b>
        <span class="arrival-facts">
          {run.is_finished ? 'all steps are done' : `step ${run.step} of ${run.steps.length}: ${run.words}`}
        </span>
        {phase !== undefined && (
          <span class="arrival-due">
            <VerdictShape is={phase === 'runs' ? 'not_known' : 'differs'} />
            {left < 0 ? `overdue by ${countdown(left)}` : `${countdown(left)} left`}
          </span>
        )}
      </a>
    </li>
  );
}

function sentenceOf(arrival: ArrivalAnswer, zone: string): string {
  if (arrival.state === 'closed') return 'This arrival is closed.';
  if (arrival.state === 'expected')
    return arrival.expected === null ? 'Expected.' : `Expected ${momentText(Date.parse(arrival.expected), zone)}.`;
  const due = deedsOf(arrival.id);
  return due.length === 0 ? 'Nothing to do for them now.' : `${due[0]?.what}.`;
}

/** The checklist of the first day is what comes next; a week later it is one among others. */
const isFresh = ({ arrived }: ArrivalAnswer): boolean =>
  arrived !== null && hubNowMs() - Date.parse(arrived) < 2 * dayMs;

function kindsText({ pieces }: ArrivalAnswer): string {
  return pieces
    .map(({ kind, count, longest_cm }) => `${count} ${kind}${longest_cm === undefined ? '' : ` (${longest_cm} cm)`}`)
    .join(', ');
}

/** One arrival: its checklists, its water, its pests, its light, its pieces. */
export function ArrivalPage({ id, view }: { id: string; view: RoomView }) {
  const { answer: arrival, failure, know } = useAnswer('GET /api/arrivals/:id', { params: { id } });
  const { answer: pieces, again } = useAnswer('GET /api/pieces', { query: { arrival: id } });
  const [trouble, setTrouble] = useState('');
  const zone = view.timezone;

  async function act(route: 'POST /api/arrivals/:id/arrived' | 'POST /api/arrivals/:id/close'): Promise<void> {
    setTrouble('');
    const answer = await send(route, { params: { id } });
    if (answer.ok) know(answer.body);
    else setTrouble(answer.problem.detail);
  }

  async function remove(): Promise<void> {
    setTrouble('');
    const answer = await send('DELETE /api/arrivals/:id', { params: { id } });
    if (answer.ok) location.hash = '#/corals';
    else setTrouble(answer.problem.detail);
  }

  if (arrival === undefined)
    return (
      <main class="page">
        <p class="way-back">
          <a href="#/corals">Corals</a>
        </p>
        <h2 tabIndex={-1} data-view-title>
          Arrival {id}
        </h2>
        {failure === undefined ? <p class="loading">Reading …</p> : <Failure text={failure} />}
      </main>
    );
  const system = view.systems.find((each) => each.id === arrival.system)?.name ?? arrival.system;
  const part = { arrival, zone, know };
  const isHere = arrival.state === 'arrived';
  return (
    <main class="page page-broad">
      <p class="way-back">
        <a href="#/corals">Corals</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        {arrival.name}
      </h2>
      <Failure text={failure} />
      <p class="sentence" role="status">
        {sentenceOf(arrival, zone)}
      </p>
      <p class="aside">
        {system}
        {arrival.arrived !== null && ` · here since ${momentText(Date.parse(arrival.arrived), zone)}`}
        {arrival.source !== null && ` · from ${arrival.source}`}
        {arrival.pieces.length > 0 && ` · ${kindsText(arrival)}`}
      </p>
      {arrival.state === 'expected' && (
        <p>
          <a class="way" href={`#/corals/prepare/${encodeURIComponent(id)}`}>
            Water to have ready
          </a>
        </p>
      )}
      {arrival.state === 'expected' && (
        <button type="button" class="primary wide" onClick={() => void act('POST /api/arrivals/:id/arrived')}>
          They are here
        </button>
      )}
      {isHere && deedsOf(id).length > 0 && (
        <ol class="deeds" aria-label="To do">
          {deedsOf(id).map((deed) => (
            <DeedLine key={deed.id} deed={deed} view={view} />
          ))}
        </ol>
      )}
      <div class="parts">
        <div class="parts">
          {isHere && (
            <section class="part" aria-labelledby="checklists">
              <h3 id="checklists">Checklists</h3>
              {arrival.runs.length > 0 && (
                <ul class="arrivals">
                  {arrival.runs.map((run) => (
                    <RunItem key={run} id={run} />
                  ))}
                </ul>
              )}
              <details open={arrival.runs.length === 0 && isFresh(arrival)}>
                <summary>Start {arrival.runs.length === 0 ? 'a' : 'another'} checklist</summary>
                <StartRun arrival={arrival} pieces={pieces ?? []} view={view} />
              </details>
            </section>
          )}
          {isHere && <PestPart {...part} />}
        </div>
        <div class="parts">
          {isHere && <LightPart {...part} />}
          {arrival.state !== 'closed' && <QuarantinePart {...part} />}
          {arrival.state !== 'closed' && <BagPart arrival={id} />}
          {arrival.state !== 'expected' && <RegisterPart arrival={arrival} pieces={pieces ?? []} again={again} />}
          {arrival.demand !== null && (
            <section class="part" aria-labelledby="use">
              <h3 id="use">Alkalinity use</h3>
              <p>{arrival.demand.text}</p>
            </section>
          )}
        </div>
      </div>
      <div class="buttons ends">
        {arrival.state !== 'closed' && (
          <Twice
            words="Close this arrival"
            sure="Yes, close it"
            onSure={() => void act('POST /api/arrivals/:id/close')}
          />
        )}
        <Twice words="Entered by mistake" sure="Yes, remove it" onSure={() => void remove()} />
      </div>
      {trouble !== '' && (
        <p class="asked-error" role="alert">
          {trouble}
        </p>
      )}
    </main>
  );
}
