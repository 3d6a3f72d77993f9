import { useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import { hubNowMs } from '../room/room-signals.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { Asked, Choice, LongField, MomentField, NumberField, Submit, TextField } from './fields.tsx';
import { checked, given, useForm } from './form.ts';
import { instantOf, wallOf } from './moments.ts';
import { pastedPieces } from './pasted-pieces.ts';
import { usePestOptions } from './pest-part.tsx';

const mostKinds = 12;

function rowsIn(values: Record<string, string>): number {
  const rows = Object.keys(values).filter((field) => /^pieces\.\d+\.kind$/.test(field)).length;
  return Math.max(1, rows);
}

/** New corals, expected or here, with what came. */
export function NewArrival({ view }: { view: RoomView }) {
  const form = useForm('arrival', {
    system: view.systems[0]?.id ?? '',
    name: '',
    source: '',
    is: 'here',
    pest: 'none_seen',
    list: '',
    time: wallOf(hubNowMs(), view.timezone),
    'pieces.0.kind': '',
    'pieces.0.count': '',
    'pieces.0.longest_cm': '',
  });
  const pests = usePestOptions('none_seen');
  const [rows, setRows] = useState(() => rowsIn(form.values));
  const isHere = form.values['is'] === 'here';

  async function store(): Promise<void> {
    const check = checked(form);
    const name = check.neededText('name', 'Give it a name you will recognise.');
    const pieces = Array.from({ length: rows }, (_, row) => {
      const [kind, count, longest] = ['kind', 'count', 'longest_cm'].map((part) => `pieces.${row}.${part}`);
      const size = check.number(longest ?? '');
      const many = check.number(count ?? '');
      const isEmpty = check.text(kind ?? '') === undefined && many === undefined && size === undefined;
      if (isEmpty) return undefined;
      return given({
        kind: check.neededText(kind ?? '', 'Enter what these are.'),
        count: many ?? check.neededNumber(count ?? '', 'Enter how many.'),
        longest_cm: size,
      });
    });
    const time = instantOf(form.values['time'] ?? '', view.timezone);
    if (time === undefined) check.wrong('time', 'Enter the day and time.');
    if (!check.isGood()) return;
    const body = given({
      system: form.values['system'],
      name,
      source: check.text('source'),
      pest: form.values['pest'],
      pieces: [...pieces.filter((each) => each !== undefined), ...pastedPieces(form.values['list'] ?? '')],
      key: form.key,
      ...(isHere ? { arrived: time } : { expected: time }),
    });
    const arrival = await form.submit('POST /api/arrivals', { body }, [
      [/^the time/, 'time'],
      [/system/, 'system'],
    ]);
    if (arrival === undefined) return;
    form.clear();
    location.hash = arrivalAddress(arrival.id);
  }

  return (
    <main class="page">
      <p class="way-back">
        <a href="#/corals">Corals</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        New arrival
      </h2>
      <Asked label="New arrival" onSend={() => void store()} isBusy={form.isBusy}>
        <div class="asked-row">
          <TextField form={form} name="name" label="Name" most={80} />
          <TextField form={form} name="source" label="From whom" />
          {view.systems.length > 1 && (
            <Choice
              form={form}
              name="system"
              label="Into"
              options={view.systems.map(({ id, name }) => ({ id, words: name }))}
            />
          )}
        </div>
        <div class="asked-row">
          <Choice
            form={form}
            name="is"
            label="They are"
            options={[
              { id: 'here', words: 'here' },
              { id: 'expected', words: 'expected' },
            ]}
          />
          <MomentField form={form} name="time" label={isHere ? 'Here since' : 'Expected at'} />
          <Choice form={form} name="pest" label="Pest seen" options={pests} />
        </div>
        <fieldset class="rows-asked">
          <legend>Pieces</legend>
          {Array.from({ length: rows }, (_, row) => (
            <div key={row} class="asked-row">
              <TextField form={form} name={`pieces.${row}.kind`} label={`Kind ${row + 1}`} most={80} />
              <NumberField form={form} name={`pieces.${row}.count`} label="How many" />
              <NumberField form={form} name={`pieces.${row}.longest_cm`} label="Longest side, cm" />
            </div>
          ))}
          <details open={form.values['list'] !== ''}>
            <summary>Paste a list of names</summary>
            <LongField form={form} name="list" label="One piece per line, then its longest side in cm" />
          </details>
          {rows < mostKinds && (
            <button
              type="button"
              onClick={() => {
                form.setAll({ [`pieces.${rows}.kind`]: '' });
                setRows(rows + 1);
              }}
            >
              Another kind
            </button>
          )}
        </fieldset>
        <Submit form={form} words={isHere ? 'Save arrival' : 'Expect them'} />
      </Asked>
    </main>
  );
}
