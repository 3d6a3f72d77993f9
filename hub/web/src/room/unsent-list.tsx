import { drop, meant, unsent } from '../kit/unsent.ts';

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
            <button type="button" onClick={() => meant(entry)}>
              Yes, as typed
            </button>
          )}
          <button type="button" onClick={() => drop(entry.key)}>
            Discard it
          </button>
        </li>
      ))}
    </ul>
  );
}
