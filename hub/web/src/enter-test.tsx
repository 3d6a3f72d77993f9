import { useState } from 'preact/hooks';
import type { SystemView } from '../../http/room-view.ts';
import { post } from './room-state.ts';

const choices = [
  { analyte: 'alkalinity', label: 'Alkalinity', units: ['dKH', 'meq/L', 'mg/L CaCO3'] },
  { analyte: 'calcium', label: 'Calcium', units: ['mg/L'] },
  { analyte: 'magnesium', label: 'Magnesium', units: ['mg/L'] },
  { analyte: 'nitrate', label: 'Nitrate', units: ['mg/L'] },
  { analyte: 'phosphate', label: 'Phosphate', units: ['mg/L'] },
] as const;

/** One for each test that is typed, so that a second tap, or a second try after a broken answer, is the same entry. */
function newKey(): string {
  // Not crypto.randomUUID: a browser gives it only to pages over HTTPS.
  return `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`;
}

type Answer = { tone: 'good' | 'bad' | 'ask'; text: string };

/** A test by hand. A doubt of the hub is shown as a question; the same number can then be sent as meant. */
export function EnterTest({ system }: { system: SystemView }) {
  const [index, setIndex] = useState(0);
  const [unit, setUnit] = useState<string>(choices[0].units[0]);
  const [value, setValue] = useState('');
  const [answer, setAnswer] = useState<Answer | undefined>(undefined);
  const [key, setKey] = useState(newKey);
  const choice = choices[index] ?? choices[0];

  /** Another test than the one that was sent or asked about. */
  function edited(): void {
    setAnswer(undefined);
    setKey(newKey());
  }

  async function send(confirmed: boolean): Promise<void> {
    const number = Number(value.replace(',', '.'));
    if (value.trim() === '' || !Number.isFinite(number)) {
      setAnswer({ tone: 'bad', text: 'Type the number that the test gave.' });
      return;
    }
    const problem = await post('tests', {
      ...{ system: system.id, analyte: choice.analyte, value: number, unit, by: 'page', key },
      ...(confirmed ? { confirmed: true } : {}),
    });
    if (problem === undefined) {
      setAnswer({ tone: 'good', text: `${choice.label} ${value} ${unit} is stored.` });
      setValue('');
      setKey(newKey());
    } else {
      const detail = problem.detail === '' ? problem.title : problem.detail;
      setAnswer({ tone: problem.status === 409 ? 'ask' : 'bad', text: detail });
    }
  }

  const name = (part: string) => `${system.id}-${part}`;
  return (
    <form
      class="enter"
      aria-label={`Enter a test for ${system.name}`}
      onSubmit={(event) => {
        event.preventDefault();
        void send(false);
      }}
    >
      <h3>Enter a test</h3>
      <div class="fields">
        <label for={name('analyte')}>
          What
          <select
            id={name('analyte')}
            value={choice.analyte}
            onChange={(event) => {
              const chosen = choices.findIndex((each) => each.analyte === event.currentTarget.value);
              setIndex(chosen);
              setUnit(choices[chosen]?.units[0] ?? '');
              edited();
            }}
          >
            {choices.map((each) => (
              <option key={each.analyte} value={each.analyte}>
                {each.label}
              </option>
            ))}
          </select>
        </label>
        <label for={name('value')}>
          Value
          <input
            id={name('value')}
            inputMode="decimal"
            autocomplete="off"
            value={value}
            onInput={(event) => {
              setValue(event.currentTarget.value);
              edited();
            }}
          />
        </label>
        <label for={name('unit')}>
          Unit
          <select
            id={name('unit')}
            value={unit}
            onChange={(event) => {
              setUnit(event.currentTarget.value);
              edited();
            }}
          >
            {choice.units.map((each) => (
              <option key={each} value={each}>
                {each}
              </option>
            ))}
          </select>
        </label>
        <button type="submit">Store</button>
      </div>
      {answer !== undefined && (
        <p class={`answer answer-${answer.tone}`} role="status">
          {answer.text}{' '}
          {answer.tone === 'ask' && (
            <button type="button" onClick={() => void send(true)}>
              Yes, as typed
            </button>
          )}
        </p>
      )}
    </form>
  );
}
