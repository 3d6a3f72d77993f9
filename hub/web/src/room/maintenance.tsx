import { useState } from 'preact/hooks';
import { defined } from '#rules/plain-data/defined.ts';
import type { RoomView, SystemView } from '../../../api/room.ts';
import { DurationField } from '../kit/duration-field.tsx';
import { probeName } from '../kit/probe-name.ts';
import { clockText, dateIn, momentText } from '../kit/times.ts';
import { WhoField, whoHere } from '../kit/who.tsx';
import { capital, inSentence } from '../kit/words.ts';
import { change, nowMs } from './room-signals.ts';

const lengths = [
  { words: '30 min', minutes: 30 },
  { words: '1 hour', minutes: 60 },
  { words: '4 hours', minutes: 240 },
  { words: '12 hours', minutes: 720 },
] as const;
const mostHours = 24;

type Window = SystemView['maintenance'][number];

/** A probe in a sentence. */
function probeWords({ probes, metrics }: SystemView, id: string): string {
  const probe = probes.find((each) => each.id === id);
  if (probe === undefined) return `probe ${id}`;
  const label = metrics.find(({ metric }) => metric === probe.metric)?.label ?? probe.metric.replaceAll('_', ' ');
  return probe.name === null ? `${inSentence(label)} probe` : probeName({ ...probe, label });
}

function WindowItem({ system, window, zone }: { system: SystemView; window: Window; zone: string }) {
  const [failure, setFailure] = useState('');
  const what = window.probe === undefined ? system.name : `${system.name}, ${probeWords(system, window.probe)}`;
  async function end(): Promise<void> {
    const place = defined({ probe: window.probe });
    const answer = await change('POST /api/maintenance/end', { body: { system: system.id, ...place, by: whoHere() } });
    setFailure(answer.ok ? '' : `${answer.problem.title}. ${answer.problem.detail}`);
  }
  return (
    <li>
      <p>
        <strong>{what}: in maintenance</strong> until{' '}
        {dateIn(window.untilMs, zone) === dateIn(nowMs.value, zone)
          ? clockText(window.untilMs, zone)
          : momentText(window.untilMs, zone)}
        , alarms off{window.by !== 'page' && <small> ({window.by})</small>}
      </p>
      <button type="button" onClick={() => void end()}>
        End<span class="visually-hidden"> the maintenance of {what}</span>
      </button>
      {failure !== '' && <p role="alert">{failure}</p>}
    </li>
  );
}

/** What is not judged now, above every view: whoever looks at a calm page must know why it is calm. */
export function MaintenanceBanner({ view }: { view: RoomView }) {
  const windows = view.systems.flatMap((system) => system.maintenance.map((window) => ({ system, window })));
  if (windows.length === 0) return null;
  return (
    <section aria-label="In maintenance">
      <ul class="maintenance">
        {windows.map(({ system, window }) => (
          <WindowItem key={`${system.id} ${window.probe}`} system={system} window={window} zone={view.timezone} />
        ))}
      </ul>
    </section>
  );
}

/** Begins a maintenance window for a system or one probe of it. */
export function MaintenanceForm({ view }: { view: RoomView }) {
  const [isOpen, setOpen] = useState(false);
  const [systemId, setSystem] = useState(view.systems[0]?.id ?? '');
  const [probe, setProbe] = useState('');
  const [minutes, setMinutes] = useState<number | undefined>(lengths[0].minutes);
  const [why, setWhy] = useState('');
  const [failure, setFailure] = useState('');
  const system = view.systems.find(({ id }) => id === systemId);

  async function send(): Promise<void> {
    if (minutes === undefined) {
      setFailure('Enter up to 24 hours.');
      return;
    }
    const answer = await change('POST /api/maintenance', {
      body: {
        system: systemId,
        minutes,
        by: whoHere(),
        ...(probe === '' ? {} : { probe }),
        ...(why.trim() === '' ? {} : { why: why.trim() }),
      },
    });
    if (answer.ok) setOpen(false);
    setFailure(answer.ok ? '' : `${answer.problem.title}. ${answer.problem.detail}`);
  }

  return (
    <section class="entry" aria-labelledby="maintenance">
      <h3 id="maintenance">Maintenance</h3>
      <p>For when probes are out of the water or pumps are off: no alarms from the system.</p>
      <div class="buttons">
        <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
          Start maintenance
        </button>
      </div>
      {isOpen && (
        <form
          class="enter"
          aria-label="Start maintenance"
          onSubmit={(event) => {
            event.preventDefault();
            void send();
          }}
        >
          <div class="fields">
            <label for="maintenance-system">
              System
              <select
                id="maintenance-system"
                value={systemId}
                onChange={(event) => {
                  setSystem(event.currentTarget.value);
                  setProbe('');
                }}
              >
                {view.systems.map(({ id, name }) => (
                  <option key={id} value={id}>
                    {name}
                  </option>
                ))}
              </select>
            </label>
            <label for="maintenance-probe">
              Of it
              <select id="maintenance-probe" value={probe} onChange={(event) => setProbe(event.currentTarget.value)}>
                <option value="">everything</option>
                {system?.probes.map(({ id }) => (
                  <option key={id} value={id}>
                    {capital(probeWords(system, id))}
                  </option>
                ))}
              </select>
            </label>
          </div>
          <DurationField
            id="maintenance-hours"
            choices={lengths}
            mostHours={mostHours}
            minutes={minutes}
            choose={setMinutes}
          />
          <div class="fields">
            <label for="maintenance-why">
              Why
              <input
                id="maintenance-why"
                autocomplete="off"
                maxLength={200}
                value={why}
                onInput={(event) => setWhy(event.currentTarget.value)}
              />
            </label>
            <WhoField id="maintenance-who" />
            <button type="submit" class="primary">
              Start
            </button>
          </div>
          {failure !== '' && <p role="alert">{failure}</p>}
        </form>
      )}
    </section>
  );
}
