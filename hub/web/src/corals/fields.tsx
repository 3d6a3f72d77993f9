import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { unbroken } from '../kit/words.ts';
import { type Form, fieldId } from './form.ts';

type FieldProps = { form: Form; name: string; label: string; isLarge?: boolean };

function Frame({ form, name, label, children }: FieldProps & { children: ComponentChildren }) {
  const error = form.errors[name];
  const id = fieldId(form.id, name);
  return (
    <div class="asked">
      <label for={id}>{label}</label>
      {children}
      {error !== undefined && (
        <p class="asked-error" id={`${id}-error`} role="alert">
          {error}
        </p>
      )}
    </div>
  );
}

/** What ties a field to its words for those who do not see them stand side by side. */
function tied({ form, name }: FieldProps) {
  const id = fieldId(form.id, name);
  const isWrong = form.errors[name] !== undefined;
  return {
    id,
    value: form.values[name] ?? '',
    ...(isWrong ? { 'aria-invalid': true as const, 'aria-describedby': `${id}-error` } : {}),
  };
}

export function NumberField(props: FieldProps) {
  return (
    <Frame {...props}>
      <input
        {...tied(props)}
        class={props.isLarge === true ? 'asked-large' : 'asked-number'}
        inputMode="decimal"
        autocomplete="off"
        onInput={(event) => props.form.set(props.name, event.currentTarget.value)}
      />
    </Frame>
  );
}

export function TextField(props: FieldProps & { known?: readonly string[]; most?: number }) {
  const list = `${fieldId(props.form.id, props.name)}-known`;
  return (
    <Frame {...props}>
      <input
        {...tied(props)}
        autocomplete="off"
        maxLength={props.most ?? 120}
        list={props.known === undefined ? '' : list}
        onInput={(event) => props.form.set(props.name, event.currentTarget.value)}
      />
      {props.known !== undefined && (
        <datalist id={list}>
          {props.known.map((each) => (
            <option key={each} value={each} />
          ))}
        </datalist>
      )}
    </Frame>
  );
}

export function LongField(props: FieldProps) {
  return (
    <Frame {...props}>
      <textarea
        {...tied(props)}
        rows={2}
        maxLength={1000}
        onInput={(event) => props.form.set(props.name, event.currentTarget.value)}
      />
    </Frame>
  );
}

/** A moment by the clock of the site. */
export function MomentField(props: FieldProps) {
  return (
    <Frame {...props}>
      <input
        {...tied(props)}
        type="datetime-local"
        onInput={(event) => props.form.set(props.name, event.currentTarget.value)}
      />
    </Frame>
  );
}

export type Option = { id: string; words: string };

export function Choice(props: FieldProps & { options: readonly Option[] }) {
  return (
    <Frame {...props}>
      <select {...tied(props)} onChange={(event) => props.form.set(props.name, event.currentTarget.value)}>
        {props.options.map(({ id, words }) => (
          <option key={id} value={id}>
            {words}
          </option>
        ))}
      </select>
    </Frame>
  );
}

/** The button of a form, and beside it what went wrong that is about no single field. */
export function Submit({ form, words, isQuiet = false }: { form: Form; words: string; isQuiet?: boolean }) {
  return (
    <div class="asked-submit">
      <button type="submit" class={isQuiet ? '' : 'primary'} aria-busy={form.isBusy}>
        {words}
      </button>
      {form.trouble !== '' && (
        <p class="asked-error" role="alert">
          {form.trouble}
        </p>
      )}
    </div>
  );
}

/** A form that asks: Enter sends it. */
export function Asked(props: { label: string; onSend(): void; isBusy: boolean; children: ComponentChildren }) {
  return (
    <form
      class="asks"
      aria-label={props.label}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        // A second tap of a wet finger is not a second entry.
        if (!props.isBusy) props.onSend();
      }}
    >
      {props.children}
    </form>
  );
}

/** What cannot be undone is asked once more, in place. */
export function Twice({ words, sure, onSure }: { words: string; sure: string; onSure(): void }) {
  const [isAsked, setAsked] = useState(false);
  if (!isAsked)
    return (
      <button type="button" onClick={() => setAsked(true)}>
        {words}
      </button>
    );
  return (
    <span class="twice">
      <button
        type="button"
        class="primary"
        onClick={() => {
          setAsked(false);
          onSure();
        }}
      >
        {sure}
      </button>
      <button type="button" onClick={() => setAsked(false)}>
        No
      </button>
    </span>
  );
}

export function Cautions({ texts }: { texts: readonly string[] }) {
  if (texts.length === 0) return null;
  return (
    <section class="heed" aria-label="Cautions">
      <ul>
        {texts.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </section>
  );
}

/** What is wrong and must be read before going on. */
export function Warnings({ texts }: { texts: readonly string[] }) {
  if (texts.length === 0) return null;
  return (
    <ul class="warned" role="alert">
      {texts.map((text) => (
        <li key={text}>
          <VerdictShape is="differs" /> <span>{unbroken(text)}</span>
        </li>
      ))}
    </ul>
  );
}

/** Beside a word, never alone: a dot between two bars, a dot past a bar, an empty ring, a wedge for what is at hand. */
export function VerdictShape({ is }: { is: 'matches' | 'differs' | 'not_known' | 'now' }) {
  return (
    <svg class={`verdict verdict-${is}`} viewBox="0 0 16 16" aria-hidden="true">
      {is === 'matches' && <path d="M2 2h12v2H2zM2 12h12v2H2z" />}
      {is === 'matches' && <circle cx="8" cy="8" r="2.4" />}
      {is === 'differs' && <path d="M2 6h12v2H2zM2 12h12v2H2z" />}
      {is === 'differs' && <circle cx="8" cy="2.6" r="2.4" />}
      {is === 'now' && <path d="M3 2l10 6-10 6z" />}
      {is === 'not_known' && <circle cx="8" cy="8" r="5" class="hollow" />}
    </svg>
  );
}

/** Says that what is shown may be old, or cannot be shown. */
export function Failure({ text }: { text: string | undefined }) {
  if (text === undefined) return null;
  return (
    <p class="asked-error" role="status">
      {text}
    </p>
  );
}
