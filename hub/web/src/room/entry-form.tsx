import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import type { SystemView } from '../../../http/room-view.ts';
import { numberIn } from '../kit/number-in.ts';
import { recall, remember } from '../kit/remembered.ts';
import { enter, newKey, takeBack } from '../kit/unsent.ts';
import { choicesOf, type EntryKind, kindWords, requestOf } from './entry-kinds.ts';
import { NewWaterFields, recalledWater, rememberWater } from './new-water.tsx';

type Answer = { tone: 'good' | 'bad' | 'ask'; text: string; undo?: number };

/**
 * A test, a dose or a water change: a tap to open, a number, a tap to store. What and unit are those of the last time on
 * this device, the unit else that in which the keeper reads. A doubt of the hub is shown as a question; the same number can then be sent as meant.
 */
export function EntryForm({ system, kind, amount }: { system: SystemView; kind: EntryKind; amount?: EntryAmount }) {
  const choices = choicesOf(kind, system);
  const memory = `last.${system.id}.${kind}`;
  const [what, setWhat] = useState(amount?.what ?? recall(memory) ?? '');
  const choice = choices.find(({ id }) => id === what) ?? choices[0];
  const unitMemory = `unit.${choice?.id}`;
  const [givenUnit, setGivenUnit] = useState<string | undefined>(undefined);
  const read = system.metrics.find(({ metric }) => metric === choice?.id)?.shown?.unit;
  const remembered = givenUnit ?? recall(unitMemory) ?? read;
  const unit = choice?.units.find((each) => each === remembered) ?? choice?.units[0] ?? '';
  const [value, setValue] = useState(amount?.value ?? '');
  const [answer, setAnswer] = useState<Answer | undefined>(undefined);
  const [key, setKey] = useState(newKey);
  const [water, setWater] = useState(() => (kind === 'water_change' ? recalledWater(system.id) : {}));
  const input = useRef<HTMLInputElement>(null);
  // Before the form is painted, so that the first digit of a quick hand is not lost.
  useLayoutEffect(() => input.current?.focus(), []);

  if (choice === undefined) return <p class="answer">No stock is configured for {system.name}.</p>;
  const words = kindWords[kind];
  const name = (part: string) => (kind === 'test' ? `${system.id}-${part}` : `${system.id}-${kind}-${part}`);

  /** Another entry than the one that was sent or asked about. */
  function edited(): void {
    setAnswer(undefined);
    setKey(newKey());
  }

  async function send(confirmed: boolean): Promise<void> {
    const number = numberIn(value);
    if (number === undefined || choice === undefined) {
      setAnswer({ tone: 'bad', text: words.missing });
      return;
    }
    const known = Object.entries(water).filter(([, text]) => text.trim() !== '');
    if (known.some(([, text]) => numberIn(text) === undefined)) {
      setAnswer({ tone: 'bad', text: 'Type numbers for the new water, or leave a field empty.' });
      return;
    }
    const newWater = Object.fromEntries(known.map(([name, text]) => [name, numberIn(text)]));
    const { path, body: entry } = requestOf(kind, system.id, choice, number, unit);
    const body = { ...entry, ...newWater };
    const said = `${choice.label} ${value.trim()} ${unit}`.trim();
    const outcome = await enter(path, confirmed ? { ...body, confirmed: true } : body, said, key);
    if (outcome.is === 'asked' || outcome.is === 'refused') {
      setAnswer({ tone: outcome.is === 'asked' ? 'ask' : 'bad', text: outcome.text });
      return;
    }
    remember(memory, choice.id);
    if (kind === 'water_change') rememberWater(system.id, water);
    if (choice.units.length > 1) remember(unitMemory, unit);
    setAnswer(
      outcome.is === 'stored'
        ? { tone: 'good', text: `${said} is stored.`, undo: outcome.id }
        : { tone: 'bad', text: `The hub does not answer. ${said} is kept on this device and sent when it is back.` },
    );
    setValue('');
    setKey(newKey());
  }

  async function undo(id: number): Promise<void> {
    const problem = await takeBack(id);
    setAnswer(problem === undefined ? { tone: 'good', text: 'Taken back.' } : { tone: 'bad', text: problem });
  }

  const undoId = answer?.undo;
  return (
    <form
      class="enter"
      aria-label={`Enter a ${words.thing}, ${system.name}`}
      onSubmit={(event) => {
        event.preventDefault();
        void send(false);
      }}
    >
      <div class="fields">
        {choices.length > 1 && (
          <label for={name('analyte')}>
            {words.what}
            <select
              id={name('analyte')}
              value={choice.id}
              onChange={(event) => {
                setWhat(event.currentTarget.value);
                setGivenUnit(undefined);
                edited();
              }}
            >
              {choices.map((each) => (
                <option key={each.id} value={each.id}>
                  {each.label}
                </option>
              ))}
            </select>
          </label>
        )}
        <label for={name('value')} class="field-value">
          {choice.units.length > 1 || choice.units[0] === '' ? words.value : `${words.value}, ${choice.units[0]}`}
          <input
            id={name('value')}
            ref={input}
            inputMode="decimal"
            autocomplete="off"
            value={value}
            onInput={(event) => {
              setValue(event.currentTarget.value);
              edited();
            }}
          />
        </label>
        {choice.units.length > 1 && (
          <label for={name('unit')}>
            Unit
            <select
              id={name('unit')}
              value={unit}
              onChange={(event) => {
                setGivenUnit(event.currentTarget.value);
                edited();
              }}
            >
              {choice.units.map((each) => (
                <option key={each} value={each}>
                  {each === '' ? 'practical salinity' : each}
                </option>
              ))}
            </select>
          </label>
        )}
        <button type="submit" class="primary">
          Store
        </button>
      </div>
      {kind === 'water_change' && (
        <NewWaterFields
          id={name('new')}
          water={water}
          edit={(changed) => {
            setWater(changed);
            edited();
          }}
        />
      )}
      <p class={`answer answer-${answer?.tone ?? 'none'}`} role="status">
        {answer?.text}{' '}
        {answer?.tone === 'ask' && (
          <button type="button" onClick={() => void send(true)}>
            Yes, as typed
          </button>
        )}
        {undoId !== undefined && (
          <button type="button" onClick={() => void undo(undoId)}>
            Take it back
          </button>
        )}
      </p>
    </form>
  );
}

/** An amount that is filled in beforehand, as advice suggests it; the person still stores it. */
export type EntryAmount = { what: string; value: string };
