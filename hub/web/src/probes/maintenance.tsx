import { useState } from 'preact/hooks';
import type { ProbeView } from '../../../api/probes.ts';
import { momentText } from '../kit/times.ts';
import { change } from '../room/room-signals.ts';

const minutes = 60;

/** While a probe is out of the water it must not raise an alarm; forgotten, this ends by itself. */
export function Maintenance({ probe, zone, changed }: { probe: ProbeView; zone: string; changed: () => void }) {
  const [failure, setFailure] = useState('');
  const { system, id, maintenanceUntil } = probe;

  async function send(isBegun: boolean): Promise<void> {
    const place = { system, probe: id, by: 'page' };
    const answer = isBegun
      ? await change('POST /api/maintenance', { body: { ...place, minutes } })
      : await change('POST /api/maintenance/end', { body: place });
    setFailure(answer.ok ? '' : `${answer.problem.title}. ${answer.problem.detail}`);
    changed();
  }

  return (
    <div class="probe-maintenance">
      {maintenanceUntil === null ? (
        <>
          <p>This probe still raises alarms. Before you take it out of the water:</p>
          <button type="button" onClick={() => void send(true)}>
            No alarms from it for an hour
          </button>
        </>
      ) : (
        <>
          <p role="status">In maintenance: it raises no alarm until {momentText(maintenanceUntil, zone)}.</p>
          <button type="button" onClick={() => void send(false)}>
            It is back in the water
          </button>
        </>
      )}
      {failure !== '' && <p role="alert">{failure}</p>}
    </div>
  );
}
