import { useState } from 'preact/hooks';
import { momentText } from '../kit/times.ts';
import { send } from './hub-ask.ts';
import type { PartProps } from './pest-part.tsx';

/** The dips and inspections of an arrival, newest first; one that was logged by mistake can be taken back. */
export function CarePast({ arrival, zone, know }: PartProps) {
  const [said, setSaid] = useState('');
  const past = [
    ...arrival.dips.map((time) => ({ time, what: 'Dip', is: 'dips' as const, findings: '' })),
    ...arrival.inspections.map(({ time, findings }) => ({
      time,
      what: 'Inspection',
      is: 'inspections' as const,
      findings,
    })),
  ].toSorted((one, other) => Date.parse(other.time) - Date.parse(one.time));

  async function takeBack({ time, what, is }: (typeof past)[number]): Promise<void> {
    const answer = await send(`DELETE /api/arrivals/:id/${is}/:time`, { params: { id: arrival.id, time } });
    setSaid(
      answer.ok ? `Taken back: ${what.toLowerCase()} of ${momentText(Date.parse(time), zone)}.` : answer.problem.detail,
    );
    if (answer.ok) know(answer.body);
  }

  if (past.length === 0 && said === '') return null;
  return (
    <details>
      <summary>Dips and inspections so far</summary>
      <p role="status">{said}</p>
      <ol class="history">
        {past.map((each) => {
          const time = momentText(Date.parse(each.time), zone);
          return (
            <li key={`${each.is} ${each.time}`}>
              <span class="history-time">{time}</span>
              <span class="history-state">{each.what.toLowerCase()}</span>
              <span>{each.findings}</span>
              <button type="button" onClick={() => void takeBack(each)}>
                Take back<span class="visually-hidden"> {`${each.what.toLowerCase()}, ${time}`}</span>
              </button>
            </li>
          );
        })}
      </ol>
    </details>
  );
}
