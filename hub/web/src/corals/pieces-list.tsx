import { useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { hubNowMs } from '../room/room-signals.ts';
import { Asked, Choice, Failure, Submit, TextField } from './fields.tsx';
import { checked, given, useForm } from './form.ts';
import { LossesOfMonth } from './losses.tsx';
import { PieceItems } from './piece-items.tsx';

/** More in one list is not read; a word of the search finds the rest. */
const mostShown = 120;

/** The register of pieces. */
export function PiecesList({ view }: { view: RoomView }) {
  const [isAll, setAll] = useState(false);
  const [words, setWords] = useState('');
  const { answer, failure, again } = useAnswer('GET /api/pieces', { query: { here: isAll ? 'false' : 'true' } });
  const form = useForm('piece', { system: view.systems[0]?.id ?? '', kind: '', source: '', place: '' });
  const sought = words.trim().toLowerCase();
  const found = (answer ?? []).filter(({ id, kind, place, source }) =>
    `${id} ${kind} ${place ?? ''} ${source ?? ''}`.toLowerCase().includes(sought),
  );
  const kinds = [...new Set((answer ?? []).map(({ kind }) => kind))].slice(0, 50);

  async function add(): Promise<void> {
    const check = checked(form);
    const body = given({
      system: form.values['system'],
      kind: check.neededText('kind', 'Enter what it is.'),
      source: check.text('source'),
      place: check.text('place'),
      key: form.key,
      by: 'page',
    });
    if (!check.isGood()) return;
    const piece = await form.submit('POST /api/pieces', { body });
    if (piece === undefined) return;
    form.clear({ system: piece.system });
    again();
  }

  return (
    <main class="page page-broad">
      <p class="way-back">
        <a href="#/corals">Corals</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        Pieces
      </h2>
      <Failure text={failure} />
      <div class="asked-row">
        <div class="asked">
          <label for="pieces-search">Find</label>
          <input
            id="pieces-search"
            type="search"
            value={words}
            onInput={(event) => setWords(event.currentTarget.value)}
          />
        </div>
        <div class="buttons">
          <button type="button" aria-pressed={!isAll} onClick={() => setAll(false)}>
            Here
          </button>
          <button type="button" aria-pressed={isAll} onClick={() => setAll(true)}>
            Include lost
          </button>
        </div>
      </div>
      {answer !== undefined && (
        <p class="aside" role="status">
          {found.length === 0 ? 'No pieces found.' : `${found.length} ${found.length === 1 ? 'piece' : 'pieces'}`}
          {found.length > mostShown && `, the first ${mostShown} are shown`}
        </p>
      )}
      <PieceItems pieces={found.slice(0, mostShown)} />
      <details>
        <summary>Add a piece that came without an arrival</summary>
        <Asked label="Add a piece" onSend={() => void add()} isBusy={form.isBusy}>
          <div class="asked-row">
            <TextField form={form} name="kind" label="What it is" known={kinds} most={80} />
            <TextField form={form} name="source" label="From whom" />
            <TextField form={form} name="place" label="Place" />
            {view.systems.length > 1 && (
              <Choice
                form={form}
                name="system"
                label="In"
                options={view.systems.map(({ id, name }) => ({ id, words: name }))}
              />
            )}
          </div>
          <Submit form={form} words="Add it" />
        </Asked>
      </details>
      <LossesOfMonth now={hubNowMs()} />
    </main>
  );
}
