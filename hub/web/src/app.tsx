import type { RoomView, SystemView } from '../../http/room-view.ts';
import { Advice } from './advice.tsx';
import { Alarms } from './alarms.tsx';
import { EnterTest } from './enter-test.tsx';
import { MetricRow } from './metric-row.tsx';
import { isConnected, nowMs, room } from './room-state.ts';
import { ageText, stateOf } from './words.ts';

/** The one sentence on top: what a keeper who passes by must know. */
function sentence(view: RoomView): string {
  const standing = view.systems.flatMap(({ name, alarms }) =>
    alarms.filter((alarm) => alarm.isStanding).map(() => name),
  );
  if (standing.length > 0) {
    const places = [...new Set(standing)].join(' and ');
    return `${standing.length === 1 ? 'One alarm stands' : `${standing.length} alarms stand`} in ${places}.`;
  }
  const doubtful = view.systems.flatMap(({ metrics }) =>
    metrics.filter((metric) => stateOf(metric, nowMs.value) !== 'inside'),
  );
  if (doubtful.length > 0)
    return `No alarm. Look at ${doubtful
      .map((metric) => metric.label.toLowerCase())
      .slice(0, 3)
      .join(', ')}.`;
  return 'Everything is inside its band.';
}

function System({ system }: { system: SystemView }) {
  return (
    <section class="system" aria-labelledby={`system-${system.id}`}>
      <h2 id={`system-${system.id}`}>
        {system.name} <small>{system.volume_l} L</small>
      </h2>
      <Alarms alarms={system.alarms} />
      <ul class="rows">
        {system.metrics.map((metric) => (
          <MetricRow key={`${metric.metric} ${metric.probe}`} metric={metric} />
        ))}
      </ul>
      <Advice advice={system.advice} />
      <EnterTest system={system} />
    </section>
  );
}

export function App() {
  const view = room.value;
  if (view === undefined)
    return <p class="loading">{isConnected.value ? 'Reading the room …' : 'Waiting for the hub …'}</p>;
  return (
    <>
      <header>
        <h1>{view.site}</h1>
        {view.invented && <p class="invented">Invented room: a demonstration, no real animals</p>}
        {!isConnected.value && (
          <p class="offline" role="status">
            The hub does not answer. What you see is from {ageText(nowMs.value - view.time)}.
          </p>
        )}
        <p class="sentence" role="status">
          {sentence(view)}
        </p>
      </header>
      <main>
        {view.systems.map((system) => (
          <System key={system.id} system={system} />
        ))}
      </main>
      <footer>
        {view.edges.map((edge) => (
          <span key={edge.name} class={edge.isUp ? 'edge' : 'edge edge-down'}>
            {edge.name}: {edge.isUp ? 'connected' : (edge.lastError ?? 'away')}
          </span>
        ))}
        <a href="./openapi.json">API</a>
      </footer>
    </>
  );
}
