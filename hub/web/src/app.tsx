import type { RoomView } from '../../api/room.ts';
import { SignInView } from './access/sign-in-view.tsx';
import { isSignInNeeded } from './kit/ask.ts';
import { route } from './kit/route.ts';
import { ageText, momentText } from './kit/times.ts';
import { TimerBar } from './now/timer-bar.tsx';
import { AlarmsPage } from './room/alarms-page.tsx';
import { MaintenanceBanner } from './room/maintenance.tsx';
import { MetricPage } from './room/metric-page.tsx';
import { PlaceView } from './room/place-view.tsx';
import { RoomPage } from './room/room-page.tsx';
import { isConnected, nowMs, room } from './room/room-signals.ts';
import { PlotPatterns } from './room/row-plot.tsx';
import { SystemCard } from './room/system-card.tsx';
import { UnsentList } from './room/unsent-list.tsx';

function Nothing({ what }: { what: string }) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        {what}
      </h2>
      <p>
        <a href="#/">Back to the room</a>
      </p>
    </main>
  );
}

function View({ view }: { view: RoomView }) {
  const at = route.value;
  if (at.view === 'alarms') return <AlarmsPage view={view} />;
  if (at.view === 'place') return <PlaceView place={at.place} parts={at.parts} view={view} />;
  if (at.view === 'room') return <RoomPage view={view} />;
  const system = view.systems.find(({ id }) => id === at.system);
  if (system === undefined) return <Nothing what="No such system." />;
  if (at.view === 'system')
    return (
      <main class="systems systems-1">
        <SystemCard system={system} zone={view.timezone} />
      </main>
    );
  const metric = system.metrics.find((each) => each.metric === at.metric);
  if (metric === undefined) return <Nothing what="No data for this metric." />;
  return <MetricPage key={`${system.id} ${metric.metric}`} system={system} metric={metric} zone={view.timezone} />;
}

function Places({ view }: { view: RoomView }) {
  const standing = view.systems.flatMap(({ alarms }) => alarms.filter(({ isStanding }) => isStanding)).length;
  const at = route.value.view === 'place' ? route.value.place : route.value.view;
  const here = (name: string) => (at === name ? { 'aria-current': 'page' as const } : {});
  return (
    <nav aria-label="Views">
      <a href="#/" {...here('room')}>
        Room
      </a>
      <a href="#/alarms" {...here('alarms')}>
        Alarms{standing > 0 && <b class="count">{standing}</b>}
      </a>
      <a href="#/corals" {...here('corals')}>
        Corals
      </a>
      <a href="#/week" {...here('week')}>
        Weeks
      </a>
      <a href="#/more" {...here('more')}>
        More
      </a>
    </nav>
  );
}

/** In one line: the worst, and how many more there are. A hub that was asked for an older page has none. */
function HubTrouble({ causes = [] }: { causes?: RoomView['causes'] }) {
  const [worst, ...others] = causes;
  if (worst === undefined) return null;
  return (
    <p class="offline" role="status">
      Hub trouble: {worst.part === 'hub' ? '' : `${worst.part}, `}
      {worst.cause}
      {others.length > 0 && ` (and ${others.length} more)`}
    </p>
  );
}

export function App() {
  const view = room.value;
  if (isSignInNeeded.value) return <SignInView />;
  if (view === undefined)
    return <p class="loading">{isConnected.value ? 'Reading the room …' : 'Waiting for the hub …'}</p>;
  return (
    <>
      <PlotPatterns />
      <header>
        <h1>{view.site}</h1>
        <Places view={view} />
      </header>
      {view.invented && <p class="invented">Invented room, no real animals</p>}
      {!isConnected.value && (
        <p class="offline" role="status">
          The hub does not answer. What you see is from {momentText(view.time, view.timezone)},{' '}
          {ageText(nowMs.value - view.time)}.
        </p>
      )}
      {isConnected.value && <HubTrouble causes={view.causes} />}
      <MaintenanceBanner view={view} />
      <TimerBar />
      <UnsentList />
      <View view={view} />
      <footer>
        {/* Without the hub nobody knows what it is connected to. */}
        {isConnected.value &&
          view.edges.map((edge) => (
            <span key={edge.name} class={edge.isUp ? 'edge' : 'edge edge-down'}>
              {edge.name}: {edge.isUp ? 'connected' : (edge.lastError ?? 'away')}
            </span>
          ))}
        <a href="./openapi.json">API</a>
      </footer>
    </>
  );
}
