import type { PieceAnswer } from '../../../api/pieces.ts';
import type { RoomView } from '../../../api/room.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { unbroken } from '../kit/words.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { Asked, Cautions, Choice, Failure, NumberField, Submit, TextField, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';
import { causeWords } from './losses.tsx';
import { Photos } from './photos-part.tsx';
import { signWords } from './piece-event-text.ts';
import { PieceHistory } from './piece-history.tsx';

const eventOptions = [
  { id: 'moved', words: 'moved' },
  { id: 'growth', words: 'grew' },
  { id: 'fragged', words: 'fragged' },
  { id: 'dipped', words: 'dipped' },
  { id: 'ill', words: 'not well' },
  { id: 'well', words: 'well again' },
  { id: 'lost', words: 'lost' },
] as const;

function Tell({ piece, know }: { piece: PieceAnswer; know(piece: PieceAnswer): void }) {
  const form = useForm(`piece.${piece.id}`, {
    event: 'moved',
    place: '',
    height_cm: '',
    longest_cm: '',
    frags: '2',
    cause: 'unknown',
    sign: 'tissue_loss_slow',
    note: '',
  });
  const event = form.values['event'] ?? 'moved';

  async function store(): Promise<void> {
    const check = checked(form);
    const more = {
      moved: () =>
        given({ place: check.neededText('place', 'Enter where it is now.'), height_cm: check.number('height_cm') }),
      growth: () => ({ longest_cm: check.number('longest_cm') }),
      fragged: () => ({ frags: check.neededNumber('frags', 'Enter how many frags.') }),
      dipped: () => ({}),
      ill: () => ({ sign: form.values['sign'] }),
      well: () => ({}),
      lost: () => ({ cause: form.values['cause'] }),
    }[event];
    const body = given({ event, ...more?.(), note: check.text('note'), by: 'page' });
    if (!check.isGood()) return;
    const told = await form.submit('POST /api/pieces/:id/events', { params: { id: piece.id }, body });
    if (told === undefined) return;
    form.clear();
    know(told.piece);
  }

  return (
    <Asked label="Log an event" onSend={() => void store()} isBusy={form.isBusy}>
      <div class="asked-row">
        <Choice form={form} name="event" label="Event" options={eventOptions} />
        {event === 'moved' && <TextField form={form} name="place" label="New place" />}
        {event === 'moved' && (
          <NumberField form={form} name="height_cm" label="Height above the sand, cm (for its light)" />
        )}
        {event === 'growth' && <NumberField form={form} name="longest_cm" label="Longest side, cm" />}
        {event === 'fragged' && <NumberField form={form} name="frags" label="How many frags" />}
        {event === 'ill' && (
          <Choice
            form={form}
            name="sign"
            label="What you see"
            options={Object.entries(signWords).map(([id, words]) => ({ id, words }))}
          />
        )}
        {event === 'lost' && (
          <Choice
            form={form}
            name="cause"
            label="Cause"
            options={Object.entries(causeWords).map(([id, words]) => ({ id, words }))}
          />
        )}
        <TextField form={form} name="note" label="Note" most={500} />
      </div>
      {event === 'fragged' && (
        <Cautions
          texts={[
            'Zoanthids and some palythoas carry palytoxin: never scrub, cut, boil or heat them without protection. Wear gloves and eye protection.',
          ]}
        />
      )}
      <Submit form={form} words="Save event" />
    </Asked>
  );
}

/** A piece and its events. */
export function PiecePage({ id, view }: { id: string; view: RoomView }) {
  const { answer: piece, failure, know, again } = useAnswer('GET /api/pieces/:id', { params: { id } });
  const system = view.systems.find((each) => each.id === piece?.system)?.name ?? piece?.system;
  const { answer: arrivals } = useAnswer('GET /api/arrivals', {}, 600_000);
  const arrivalName = arrivals?.find((each) => each.id === piece?.arrival)?.name;
  return (
    <main class="page page-broad">
      <p class="way-back">
        <a href="#/corals/pieces">Pieces</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        {piece?.kind ?? 'Piece'} <small>{id}</small>
      </h2>
      <Failure text={failure} />
      {piece !== undefined && (
        <>
          <p class="sentence" role="status">
            {piece.lost === null
              ? piece.place === null
                ? `In ${system}.`
                : `On ${piece.place}, in ${system}.`
              : unbroken(
                  `Lost on ${momentText(Date.parse(piece.lost.time), view.timezone)}: ${causeWords[piece.lost.cause]}.`,
                )}
          </p>
          {piece.ill !== null && (
            <Warnings
              texts={[
                `Not well since ${momentText(Date.parse(piece.ill.since), view.timezone)}: ${piece.ill.what}.`,
                `First: ${piece.ill.first}. Common practice, no published source.`,
              ]}
            />
          )}
          <p class="aside">
            {piece.source !== null && `From ${piece.source}. `}
            {piece.frag_of !== null && <a href={`#/corals/piece/${piece.frag_of}`}>Cut from {piece.frag_of}</a>}
            {piece.arrival !== null && (
              <a href={arrivalAddress(piece.arrival)}>Came with {arrivalName ?? 'an arrival'}</a>
            )}
          </p>
          <div class="parts">
            {piece.lost === null && (
              <section class="part" aria-labelledby="tell">
                <h3 id="tell">Events</h3>
                <Tell piece={piece} know={know} />
              </section>
            )}
            <Photos piece={piece} again={again} />
            <section class="part" aria-labelledby="history">
              <h3 id="history">History</h3>
              <PieceHistory piece={piece} zone={view.timezone} again={again} />
            </section>
          </div>
        </>
      )}
    </main>
  );
}
