import { useState } from 'preact/hooks';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { nowMs, post } from './room-state.ts';
import { ageText } from './times.ts';

const asks = { high: 'Act now', medium: 'Act today', low: 'Have a look' } as const;

function stateText(alarm: StandingAlarm): string {
  if (alarm.state === 'acknowledged') return 'seen';
  if (alarm.state === 'shelved') return 'shelved';
  if (alarm.state === 'suppressed') return 'suppressed';
  return alarm.isStanding ? 'not seen yet' : 'over, not seen yet';
}

function Acknowledge({ alarm }: { alarm: StandingAlarm }) {
  const [failure, setFailure] = useState('');
  async function send(): Promise<void> {
    const answer = await post('alarms/acknowledge', { alarm: alarm.id });
    setFailure(answer.ok ? '' : `${answer.title}. ${answer.detail}`);
  }
  return (
    <>
      <button type="button" onClick={() => void send()}>
        I have seen it
      </button>
      {failure !== '' && <p role="alert">{failure}</p>}
    </>
  );
}

/** The alarms of a system, the most urgent first. */
export function Alarms({ alarms }: { alarms: StandingAlarm[] }) {
  if (alarms.length === 0) return null;
  const rank = { high: 0, medium: 1, low: 2 } as const;
  const ordered = alarms.toSorted((a, b) => rank[a.priority] - rank[b.priority] || b.sinceMs - a.sinceMs);
  return (
    <ul class="alarms" aria-label="Alarms">
      {ordered.map((alarm) => (
        <li key={alarm.id} class={`alarm alarm-${alarm.priority}${alarm.isStanding ? '' : ' alarm-over'}`}>
          <p>
            <strong>{alarm.isStanding ? asks[alarm.priority] : 'Over.'}</strong> {alarm.message}
            <small>
              {alarm.isStanding ? 'since ' : 'ended '}
              {ageText(nowMs.value - alarm.sinceMs)} · {stateText(alarm)}
            </small>
          </p>
          {(alarm.state === 'unacknowledged' || alarm.state === 'returned_unacknowledged') && (
            <Acknowledge alarm={alarm} />
          )}
        </li>
      ))}
    </ul>
  );
}
