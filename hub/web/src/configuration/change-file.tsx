import { useState } from 'preact/hooks';
import type { ConfigurationView, DifferenceView, EditableField } from '../../../api/configuration.ts';
import type { Outcome } from '../kit/ask.ts';
import { numberIn } from '../kit/number-in.ts';
import { momentText } from '../kit/times.ts';
import { whoHere } from '../kit/who.tsx';
import { change } from '../room/room-signals.ts';

type Editable = NonNullable<ConfigurationView['editable']>;
type Change = { path: string; value: number | string | null };

const shownValue = ({ value }: EditableField) => (value === null ? '' : String(value));

/** What was typed as a change of the file; a text for what is none. */
function changeOf(field: EditableField, typed: string): Change | string {
  const text = typed.trim();
  if (text === '') return { path: field.path, value: null };
  if (field.kind !== 'number') return { path: field.path, value: text };
  const number = numberIn(text);
  return number === undefined ? `${field.label}: "${text}" is not a number.` : { path: field.path, value: number };
}

function Field({ field, typed, edit }: { field: EditableField; typed: string; edit(text: string): void }) {
  const id = `config-${field.path.replaceAll('.', '-')}`;
  return (
    <label for={id} class={typed === shownValue(field) ? '' : 'is-changed'}>
      {field.label}
      {field.unit === '' ? '' : `, ${field.unit}`}
      {field.kind === 'time' ? (
        <input id={id} type="time" value={typed} onInput={(event) => edit(event.currentTarget.value)} />
      ) : (
        <input
          id={id}
          inputMode={field.kind === 'number' ? 'decimal' : 'text'}
          autocomplete="off"
          value={typed}
          onInput={(event) => edit(event.currentTarget.value)}
        />
      )}
    </label>
  );
}

/** The lines that go and that come, told apart by their sign as well. */
function Difference({ of }: { of: DifferenceView }) {
  return (
    <>
      <ol class="difference" aria-label="What changes in the file">
        {of.difference.map(({ is, line, text }) => (
          <li key={`${is}${line}`} class={`difference-${is}`}>
            <span aria-hidden="true">{is === 'out' ? '\u2212' : '+'}</span>
            <span class="visually-hidden">{is === 'out' ? 'taken out: ' : 'put in: '}</span>
            <small>{line}</small> <code>{text}</code>
          </li>
        ))}
      </ol>
      {of.warnings.length > 0 && (
        <ul class="faults" aria-label="Warnings">
          {of.warnings.map((warning) => (
            <li key={warning}>{warning}</li>
          ))}
        </ul>
      )}
    </>
  );
}

/** Changes what the file says: typed, shown as a difference, then written. */
export function ChangeFile({ editable, zone, changed }: { editable: Editable; zone: string; changed(): void }) {
  const [typed, setTyped] = useState<Record<string, string>>({});
  const [difference, setDifference] = useState<DifferenceView | undefined>(undefined);
  const [said, setSaid] = useState<{ isBad: boolean; text: string }>({ isBad: false, text: '' });
  const fields = editable.groups.flatMap(({ parts }) => parts.flatMap((part) => part.fields));
  const edited = fields.filter((field) => (typed[field.path] ?? shownValue(field)) !== shownValue(field));
  const { seen, last_change: last } = editable;
  const after = editable.starts_again
    ? 'The hub restarts with it; the page is back in a few seconds.'
    : 'It takes effect when the hub restarts.';

  function edit(path: string, text: string): void {
    setTyped((old) => ({ ...old, [path]: text }));
    setDifference(undefined);
    setSaid({ isBad: false, text: '' });
  }

  function changes(): Change[] | undefined {
    const found = edited.map((field) => changeOf(field, typed[field.path] ?? ''));
    const wrong = found.find((each) => typeof each === 'string');
    if (typeof wrong === 'string') setSaid({ isBad: true, text: wrong });
    return wrong === undefined ? (found as Change[]) : undefined;
  }

  async function preview(): Promise<void> {
    const asked = changes();
    if (asked === undefined) return;
    const answer = await change('POST /api/configuration/preview', { body: { changes: asked, seen } });
    if (answer.ok) setDifference(answer.body);
    else setSaid({ isBad: true, text: `${answer.problem.title}. ${answer.problem.detail}` });
  }

  async function written(asked: Promise<Outcome<null>>): Promise<void> {
    const answer = await asked;
    if (!answer.ok) {
      setSaid({ isBad: true, text: `${answer.problem.title}. ${answer.problem.detail}` });
      return;
    }
    setTyped({});
    setDifference(undefined);
    setSaid({ isBad: false, text: `Written to the file. ${after}` });
    changed();
  }

  return (
    <section class="change-file" aria-labelledby="change-file">
      <h3 id="change-file">Change</h3>
      <p>A change is checked, shown as a difference and written into the file, which keeps its comments. {after}</p>
      {editable.groups.map((group) => (
        <details key={group.title}>
          <summary>{group.title}</summary>
          {group.parts.map((part) => (
            <fieldset key={part.title}>
              <legend>{part.title}</legend>
              <div class="fields">
                {part.fields.map((field) => (
                  <Field
                    key={field.path}
                    field={field}
                    typed={typed[field.path] ?? shownValue(field)}
                    edit={(text) => edit(field.path, text)}
                  />
                ))}
              </div>
            </fieldset>
          ))}
        </details>
      ))}
      {difference !== undefined && <Difference of={difference} />}
      <div class="buttons">
        {difference === undefined ? (
          <button type="button" class="primary" disabled={edited.length === 0} onClick={() => void preview()}>
            Show what changes
          </button>
        ) : (
          <button
            type="button"
            class="primary"
            onClick={() => {
              const asked = changes();
              if (asked !== undefined)
                void written(
                  change('POST /api/configuration/change', { body: { changes: asked, seen, by: whoHere() } }),
                );
            }}
          >
            Write to the file
          </button>
        )}
        {edited.length > 0 && (
          <button
            type="button"
            onClick={() => {
              setTyped({});
              setDifference(undefined);
            }}
          >
            Discard
          </button>
        )}
        {last !== null && (
          <button
            type="button"
            onClick={() => void written(change('POST /api/configuration/back', { body: { seen, by: whoHere() } }))}
          >
            Undo the change of {momentText(Date.parse(last.time), zone)}
          </button>
        )}
      </div>
      <p class={said.isBad ? 'answer answer-bad' : 'answer'} role="status">
        {said.text}
      </p>
    </section>
  );
}
