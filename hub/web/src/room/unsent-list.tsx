import { defined } from '#rules/plain-data/defined.ts';
import { answerDoubt, drop, unsent } from '../kit/unsent.ts';
import { DoubtButtons } from './doubt-buttons.tsx';

/** What was entered here and is not at the hub yet: it waits, or the hub has a doubt. */
export function UnsentList() {
  const entries = unsent.value;
  if (entries.length === 0) return null;
  return (
    <ul class="unsent" aria-label="Not sent yet">
      {entries.map((entry) => (
        <li key={entry.key}>
          <p>
            <strong>{entry.said}</strong>{' '}
            {entry.doubt === undefined ? 'waits on this device for the hub.' : entry.doubt.text}
          </p>
          {entry.doubt?.isQuestion === true && (
            <DoubtButtons
              {...defined({ about: entry.doubt.about })}
              said={entry.said}
              answer={(answer) => answerDoubt(entry, answer)}
            />
          )}
          <button type="button" onClick={() => drop(entry.key)}>
            Discard
          </button>
        </li>
      ))}
    </ul>
  );
}
