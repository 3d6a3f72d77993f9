import { useState } from 'preact/hooks';
import { answerOrWhy, type Calculation, givenFrom, resultText } from '../../../reports/calc/calculation.ts';
import { calculations } from '../../../reports/calc/registry.ts';
import '../style/calculate.css';
import { fieldWords } from './field-words.ts';

type Answer = { results: Record<string, number | string> } | { why: string };

/** Five figures are more than any test or probe gives. */
const shown = (value: number | string) => resultText(typeof value === 'number' ? Number(value.toPrecision(5)) : value);

function CalculationForm({ calculation }: { calculation: Calculation }) {
  const [cells, setCells] = useState<Record<string, string>>({});
  const [answer, setAnswer] = useState<Answer>();
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        setAnswer(answerOrWhy(() => calculation.compute(givenFrom(cells))));
      }}
    >
      <p>{calculation.summary}.</p>
      <div class="fields">
        {calculation.inputs.map(({ name, help }) => (
          <label key={name}>
            {fieldWords(name)}
            <input
              name={name}
              value={cells[name] ?? ''}
              autocomplete="off"
              onInput={({ currentTarget }) => setCells({ ...cells, [name]: currentTarget.value.replace(',', '.') })}
            />
            <small>{help}</small>
          </label>
        ))}
      </div>
      <button type="submit">Calculate</button>
      <div role="status" class="calculated">
        {answer !== undefined && 'why' in answer && (
          <p>{answer.why.replace(/^\w+(?=:)/, fieldWords).replaceAll('_', ' ')}</p>
        )}
        {answer !== undefined && 'results' in answer && (
          <dl>
            {calculation.results.map((name) => {
              const value = answer.results[name];
              return (
                value !== undefined && (
                  <div key={name}>
                    <dt>{fieldWords(name)}</dt>
                    <dd>{shown(value)}</dd>
                  </div>
                )
              );
            })}
          </dl>
        )}
      </div>
    </form>
  );
}

/** What `brinekeep calc` answers, computed in the browser: it works without the hub as well. */
export default function CalculateView() {
  const [name, setName] = useState(calculations[0]?.name ?? '');
  const chosen = calculations.find((each) => each.name === name);
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Calculate
      </h2>
      <label>
        What
        <select id="calculation" value={name} onChange={({ currentTarget }) => setName(currentTarget.value)}>
          {calculations.map((each) => (
            <option key={each.name} value={each.name}>
              {each.name.replaceAll('-', ' ')}
            </option>
          ))}
        </select>
      </label>
      {chosen !== undefined && <CalculationForm key={chosen.name} calculation={chosen} />}
      <p>
        A number is as good as the test behind it: repeat what surprises you before you dose. With reagents follow the
        maker's label, wear gloves and eye protection, and keep acids away from children and pets.
      </p>
    </main>
  );
}
