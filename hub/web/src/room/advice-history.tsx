import { useState } from 'preact/hooks';
import type { EntryAnswer } from '../../../api/entries.ts';
import { askRoute } from '../kit/ask.ts';
import { momentText } from '../kit/times.ts';
import { capital, unbroken } from '../kit/words.ts';
import { reasonWords } from './advice-answers.tsx';

const mostShown = 60;

type AdviceEntry = EntryAnswer<'advice'>;

function stateOf({ declined, resumed }: AdviceEntry['body']): string {
  if (declined !== undefined) return 'declined';
  return resumed === undefined ? 'advised' : 'taken up';
}

function wordsOf({ analyte, advice, declined, resumed }: AdviceEntry['body']): string {
  if (declined === undefined)
    return `${capital(analyte)}: ${advice.reason}${resumed === undefined ? '' : ` (${resumed.by})`}`;
  const note = declined.note === undefined ? '' : ` ${declined.note}`;
  return `${capital(analyte)}: ${reasonWords[declined.reason]}.${note} (${declined.by})`;
}

/** What was advised and what a person said to it, newest first; read when it is opened. */
export function AdviceHistory({ system, zone }: { system: string; zone: string }) {
  const [told, setTold] = useState<AdviceEntry[] | undefined>(undefined);
  const [failure, setFailure] = useState('');
  function read(): void {
    void askRoute('GET /api/entries', { query: { kind: 'advice', system, limit: mostShown } }).then((answer) => {
      if (answer.ok) setTold(answer.body.filter((entry) => entry.kind === 'advice'));
      setFailure(answer.ok ? '' : `Cannot read the history: ${answer.problem.detail}`);
    });
  }
  return (
    <details onToggle={(event) => event.currentTarget.open && read()}>
      <summary>Earlier advice</summary>
      {failure !== '' && <p role="alert">{failure}</p>}
      {told?.length === 0 && <p>No advice yet.</p>}
      <ol class="history advice-history">
        {told?.map((each) => (
          <li key={each.id}>
            <span class="history-time">{momentText(each.timeMs, zone)}</span>
            <span class="history-state">{stateOf(each.body)}</span>
            <span>{unbroken(wordsOf(each.body))}</span>
          </li>
        ))}
      </ol>
    </details>
  );
}
