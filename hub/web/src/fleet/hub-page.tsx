import type { FleetAlarm, FleetMetric } from '../../../api/fleet.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { ageText, momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { nowMs } from '../room/room-signals.ts';
import { askEveryMs, FleetBanner, hubAddress } from './fleet-wall.tsx';
import { hubWord, valueWords } from './fleet-words.ts';
import { HubShape, orderOf } from './hub-shape.tsx';

function AlarmLines({ alarms, zone }: { alarms: readonly FleetAlarm[]; zone: string }) {
  if (alarms.length === 0) return null;
  return (
    <ul class="alarms">
      {alarms.map((alarm) => (
        <li key={alarm.alarm} class={`alarm alarm-${alarm.priority}`}>
          <p>
            {alarm.message}
            <small>
              {alarm.priority} priority, {momentText(alarm.time, zone)}
              {alarm.state === 'acknowledged' ? ', seen by somebody' : ''}
            </small>
          </p>
        </li>
      ))}
    </ul>
  );
}

function ValueRow({ hub, system, metric, now }: { hub: string; system: string; metric: FleetMetric; now: number }) {
  return (
    <li class="fleet-value">
      <a href={hubAddress(hub, system, metric.metric)}>
        <StateShape order={orderOf[metric.state]} />
        <span class="fleet-value-name">
          {metric.label}
          {metric.probe === 'test' && <small> test</small>}
        </span>
        <b>
          {metric.value === null ? '–' : valueText(metric, metric.value)}{' '}
          <small>{unitText(metric, metric.value)}</small>
        </b>
        <span class="fleet-value-words">
          {valueWords(metric, now)}
          {metric.state === 'stale' ? '' : `, ${ageText(now - metric.time)}`}
        </span>
      </a>
    </li>
  );
}

/** One hub of the fleet: what it says of its systems. Acknowledging is done there, where its keeper signs in. */
export function HubPage({ hub, zone }: { hub: string; zone: string }) {
  const { answer: detail, failure } = useAnswer('GET /api/fleet/:hub', { params: { hub } }, askEveryMs);
  const isLost = failure !== undefined;
  const now = nowMs.value;
  return (
    <main class="page fleet">
      <nav class="way-back" aria-label="Way back">
        <a href="#/fleet">‹ Fleet</a>
      </nav>
      <h2 tabIndex={-1} data-view-title>
        {detail?.name ?? hub} <small>{hub}</small>
      </h2>
      {detail === undefined && (
        <p role="status">{isLost ? 'No data from this hub, or this one does not answer.' : 'Reading …'}</p>
      )}
      {detail !== undefined && (
        <>
          <FleetBanner answer={undefined} isLost={isLost} now={now} />
          <p class="fleet-word fleet-word-alone">
            <HubShape state={detail.state} /> {hubWord(detail, now)}
          </p>
          {(detail.state === 'offline' || detail.state === 'silent') && (
            <p>Last known values. No one is watching its water now: go and look.</p>
          )}
          {detail.week !== null && <p class="fleet-week">{detail.week.line}</p>}
          <AlarmLines alarms={detail.ownAlarms} zone={zone} />
          <div class="fleet-systems">
            {detail.details.map((system) => (
              <section key={system.id} class="fleet-system" aria-labelledby={`fleet-${system.id}`}>
                <h3 id={`fleet-${system.id}`}>{system.name}</h3>
                <AlarmLines alarms={system.alarms} zone={zone} />
                {system.metrics.length === 0 ? (
                  <p>No value yet.</p>
                ) : (
                  <ul>
                    {system.metrics.map((metric) => (
                      <ValueRow
                        key={`${metric.metric} ${metric.probe}`}
                        hub={hub}
                        metric={metric}
                        now={now}
                        system={system.id}
                      />
                    ))}
                  </ul>
                )}
              </section>
            ))}
          </div>
        </>
      )}
    </main>
  );
}
