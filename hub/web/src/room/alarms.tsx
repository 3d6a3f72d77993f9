import { useState } from 'preact/hooks';
import type { StandingAlarm } from '../../../api/alarms.ts';
import type { Outcome } from '../kit/ask.ts';
import { DurationField } from '../kit/duration-field.tsx';
import { ageText, momentText } from '../kit/times.ts';
import { WhoField, whoHere } from '../kit/who.tsx';
import { unbroken } from '../kit/words.ts';
import { change, nowMs, room } from './room-signals.ts';

const asks = { high: 'Act now', medium: 'Act today', low: 'Have a look' } as const;

const shelvings = [
  { words: '1 hour', minutes: 60 },
  { words: '4 hours', minutes: 240 },
  { words: '1 day', minutes: 1440 },
  { words: '3 days', minutes: 4320 },
  { words: '7 days', minutes: 10_080 },
] as const;

function stateText(alarm: StandingAlarm, zone: string): string {
  if (alarm.state === 'acknowledged') return 'seen';
  if (alarm.state === 'shelved')
    return alarm.untilMs === undefined ? 'silenced' : `silenced until ${momentText(alarm.untilMs, zone)}`;
  if (alarm.state === 'suppressed') return 'silenced: known cause, or maintenance';
  return alarm.isStanding ? 'unseen' : 'ended, unseen';
}

function Silence({ alarm, done }: { alarm: StandingAlarm; done(): void }) {
  const mostHours = room.value?.silenceAtMostHours[alarm.priority] ?? 0;
  const choices = shelvings.filter((each) => each.minutes <= mostHours * 60);
  const [minutes, setMinutes] = useState<number | undefined>(choices[0]?.minutes);
  const [why, setWhy] = useState('');
  const [failure, setFailure] = useState('');
  const isAsked = alarm.priority === 'high';
  const name = (part: string) => `shelve-${alarm.id.replaceAll(/[^\w-]/g, '-')}-${part}`;
  async function send(): Promise<void> {
    if (minutes === undefined) {
      setFailure(`Enter a time, up to ${mostHours} hours.`);
      return;
    }
    if (isAsked && why.trim() === '') {
      setFailure('This is an Act now alarm: say why you silence it.');
      return;
    }
    const reason = why.trim() === '' ? {} : { why: why.trim() };
    const answer = await change('POST /api/alarms/shelve', {
      body: { alarm: alarm.id, minutes, by: whoHere(), ...reason },
    });
    if (answer.ok) done();
    else setFailure(`${answer.problem.title}. ${answer.problem.detail}`);
  }
  return (
    <form
      class="enter"
      aria-label={`Silence: ${alarm.message}`}
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      <DurationField
        id={name('hours')}
        choices={choices}
        mostHours={mostHours}
        minutes={minutes}
        choose={(chosen) => {
          setMinutes(chosen);
          setFailure('');
        }}
      />
      <div class="fields">
        <label for={name('why')}>
          {isAsked ? 'Why (required)' : 'Why'}
          <input
            id={name('why')}
            autocomplete="off"
            aria-required={isAsked}
            maxLength={200}
            value={why}
            onInput={(event) => setWhy(event.currentTarget.value)}
          />
        </label>
        <WhoField id={name('who')} />
        <button type="submit" class="primary">
          Silence
        </button>
      </div>
      {failure !== '' && <p role="alert">{failure}</p>}
    </form>
  );
}

/** One alarm with what can be done about it. */
function AlarmItem({ alarm, zone }: { alarm: StandingAlarm; zone: string }) {
  const [failure, setFailure] = useState('');
  const [isShelving, setShelving] = useState(false);
  const isUnseen = alarm.state === 'unacknowledged' || alarm.state === 'returned_unacknowledged';
  async function send(asked: Promise<Outcome<unknown>>): Promise<void> {
    const outcome = await asked;
    setFailure(outcome.ok ? '' : `${outcome.problem.title}. ${outcome.problem.detail}`);
  }
  return (
    <li class={`alarm alarm-${alarm.priority}${alarm.isStanding ? '' : ' alarm-over'}`}>
      <p>
        <strong>{alarm.isStanding ? asks[alarm.priority] : 'Ended.'}</strong> {unbroken(alarm.message)}
        <small>
          {alarm.isStanding ? 'since ' : 'ended '}
          {ageText(nowMs.value - alarm.sinceMs)} · {stateText(alarm, zone)}
        </small>
      </p>
      <div class="buttons">
        {isUnseen && (
          <button
            type="button"
            onClick={() =>
              void send(change('POST /api/alarms/acknowledge', { body: { alarm: alarm.id, by: whoHere() } }))
            }
          >
            Acknowledge
          </button>
        )}
        {alarm.state === 'shelved' ? (
          <button
            type="button"
            onClick={() => void send(change('POST /api/alarms/unshelve', { body: { alarm: alarm.id, by: whoHere() } }))}
          >
            Unsilence
          </button>
        ) : (
          alarm.isStanding && (
            <button type="button" aria-expanded={isShelving} onClick={() => setShelving(!isShelving)}>
              Silence for a while
            </button>
          )
        )}
      </div>
      {failure !== '' && <p role="alert">{failure}</p>}
      {isShelving && alarm.state !== 'shelved' && <Silence alarm={alarm} done={() => setShelving(false)} />}
    </li>
  );
}

/** The alarms of a system, the most urgent first and the shelved last. */
export function Alarms({ alarms, zone }: { alarms: StandingAlarm[]; zone: string }) {
  if (alarms.length === 0) return null;
  const rank = { high: 0, medium: 1, low: 2 } as const;
  const place = (alarm: StandingAlarm) => (alarm.state === 'shelved' ? 10 : 0) + rank[alarm.priority];
  const ordered = alarms.toSorted((a, b) => place(a) - place(b) || b.sinceMs - a.sinceMs);
  return (
    <ul class="alarms" aria-label="Alarms">
      {ordered.map((alarm) => (
        <AlarmItem key={alarm.id} alarm={alarm} zone={zone} />
      ))}
    </ul>
  );
}
