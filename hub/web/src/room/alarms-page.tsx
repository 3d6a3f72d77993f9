import { useEffect, useState } from 'preact/hooks';
import type { EntryAnswer } from '../../../api/entries.ts';
import type { RoomView } from '../../../api/room.ts';
import { askRoute } from '../kit/ask.ts';
import { momentText } from '../kit/times.ts';
import { Alarms } from './alarms.tsx';
import { MaintenanceForm } from './maintenance.tsx';

const historyShown = 200;

type AlarmEntry = EntryAnswer<'alarm'>;

const stateWords: Record<AlarmEntry['body']['state'], string> = {
  raised: 'raised',
  reraised: 'raised again',
  cleared: 'ended',
  acknowledged: 'seen',
  shelved: 'silenced',
  unshelved: 'unsilenced',
  suppressed: 'silenced: known cause',
  unsuppressed: 'no longer silenced',
};

/** Alarms that stand, and what was told of alarms before. */
export function AlarmsPage({ view }: { view: RoomView }) {
  const [told, setTold] = useState<AlarmEntry[] | undefined>(undefined);
  const [failure, setFailure] = useState('');
  const standing = view.systems.flatMap(({ alarms }) => alarms.map(({ id, state }) => `${id} ${state}`)).join();
  // What stands is in the room; its change is also the moment at which the history has grown.
  useEffect(() => {
    void askRoute('GET /api/entries', { query: { kind: 'alarm', limit: historyShown } }).then((answer) => {
      if (answer.ok) setTold(answer.body.filter((entry) => entry.kind === 'alarm'));
      setFailure(answer.ok ? '' : `Cannot read the history: ${answer.problem.detail}`);
    });
  }, [standing]);
  const named = new Map(view.systems.map(({ id, name }) => [id, name]));
  const active = view.systems.filter(({ alarms }) => alarms.length > 0);
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Alarms
      </h2>
      {active.length === 0 && <p>No active alarms.</p>}
      {active.map((system) => (
        <section key={system.id} aria-labelledby={`alarms-${system.id}`}>
          <h3 id={`alarms-${system.id}`}>{system.name}</h3>
          <Alarms alarms={system.alarms} zone={view.timezone} />
        </section>
      ))}
      <MaintenanceForm view={view} />
      <h3>Before</h3>
      {failure !== '' && <p role="alert">{failure}</p>}
      {told?.length === 0 && <p>No alarms so far.</p>}
      <ol class="history">
        {told?.map((each) => (
          <li key={each.id}>
            <span class="history-time">{momentText(each.timeMs, view.timezone)}</span>
            <span class="history-state">{stateWords[each.body.state]}</span>
            <span>
              {named.get(each.system) ?? each.system}: {each.body.message}
              {each.body.by === undefined
                ? ''
                : ` (${each.body.by}${each.body.why === undefined ? '' : `: ${each.body.why}`})`}
            </span>
          </li>
        ))}
      </ol>
    </main>
  );
}
