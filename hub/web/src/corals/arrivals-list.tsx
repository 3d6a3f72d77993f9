import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import type { RoomView } from '../../../api/room.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { listed } from '../kit/words.ts';
import { deedsOf } from '../now/now-state.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { Failure, VerdictShape } from './fields.tsx';
import { LossesOfMonth } from './losses.tsx';

const stateWords: Record<ArrivalAnswer['state'], string> = {
  expected: 'expected',
  arrived: 'here',
  closed: 'closed',
};

export const arrivalAddress = (id: string): string => `#/corals/arrival/${encodeURIComponent(id)}`;

function sentence(arrivals: readonly ArrivalAnswer[]): string {
  const open = arrivals.filter(({ state }) => state !== 'closed');
  if (open.length === 0) return 'No corals are on their way in.';
  const due = open.filter(({ id }) => deedsOf(id).length > 0).map(({ name }) => name);
  if (due.length > 0) return `Something to do for ${listed(due)}.`;
  const waiting = open.filter(({ state }) => state === 'expected').map(({ name }) => name);
  if (waiting.length > 0) return `${listed(waiting)} ${waiting.length === 1 ? 'is' : 'are'} expected.`;
  return `Nothing to do now for ${listed(open.map(({ name }) => name))}.`;
}

function ArrivalItem({ arrival, zone, system }: { arrival: ArrivalAnswer; zone: string; system: string }) {
  const count = arrival.pieces.reduce((sum, each) => sum + each.count, 0);
  const when = arrival.arrived ?? arrival.expected;
  const due = deedsOf(arrival.id);
  return (
    <li>
      <a class="arrival-item" href={arrivalAddress(arrival.id)}>
        <b>{arrival.name}</b>
        <span class="arrival-facts">
          {stateWords[arrival.state]}
          {when === null ? '' : `, ${momentText(Date.parse(when), zone)}`} · {system}
          {count > 0 && ` · ${count} ${count === 1 ? 'piece' : 'pieces'}`}
        </span>
        {due.map((deed) => (
          <span key={deed.id} class="arrival-due">
            <VerdictShape is="differs" /> {deed.what}
          </span>
        ))}
      </a>
    </li>
  );
}

/** All arrivals, what is due first. */
export function ArrivalsList({ view }: { view: RoomView }) {
  const { answer, failure } = useAnswer('GET /api/arrivals', {});
  void nowMs.value;
  const arrivals = (answer ?? []).toReversed();
  const open = arrivals.filter(({ state }) => state !== 'closed');
  const closed = arrivals.filter(({ state }) => state === 'closed');
  const named = (id: string) => view.systems.find((system) => system.id === id)?.name ?? id;
  const item = (arrival: ArrivalAnswer) => (
    <ArrivalItem key={arrival.id} arrival={arrival} zone={view.timezone} system={named(arrival.system)} />
  );
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Corals
      </h2>
      <Failure text={failure} />
      {answer !== undefined && <p class="sentence">{sentence(arrivals)}</p>}
      <div class="ways">
        <a class="way primary" href="#/corals/new">
          New arrival
        </a>
        <a class="way" href="#/corals/pieces">
          All pieces
        </a>
        <a class="way" href="#/corals/prepare">
          Water to have ready
        </a>
        <a class="way" href="#/water">
          Salt water
        </a>
      </div>
      {open.length > 0 && <ul class="arrivals">{open.map(item)}</ul>}
      <LossesOfMonth now={hubNowMs()} />
      {closed.length > 0 && (
        <details>
          <summary>{closed.length} whose care has ended</summary>
          <ul class="arrivals">{closed.map(item)}</ul>
        </details>
      )}
    </main>
  );
}
