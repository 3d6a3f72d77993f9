import { countdown } from '../kit/countdown.ts';
import { route } from '../kit/route.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { clocks, type Deed } from './now-state.ts';

/** Whether the view that is open shows this clock itself: the room in its list, and the step's own page. */
function isShownHere(deed: Deed): boolean {
  const at = route.value;
  if (at.view === 'room') return true;
  return at.view === 'place' && 'run' in deed.act && at.parts.includes(deed.act.run);
}

/** Timers that run, on every view: whoever looks at a chart must not forget pieces in a dip. */
export function TimerBar() {
  const running = clocks.value.filter((deed) => !isShownHere(deed));
  if (running.length === 0) return null;
  void nowMs.value;
  return (
    <section aria-label="Running timers">
      <ul class="timer-bar">
        {running.map((deed) => (
          <li key={deed.id}>
            <RunningTimer deed={deed} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function RunningTimer({ deed }: { deed: Deed }) {
  const { act, clock, what } = deed;
  const leftMs = (clock?.endsMs ?? 0) - hubNowMs();
  const address =
    'run' in act ? `#/corals/arrival/${encodeURIComponent(act.arrival)}/run/${encodeURIComponent(act.run)}` : '#/';
  return (
    <a class={`running ${leftMs < 0 ? 'running-over' : ''}`} href={address}>
      <b role="timer">{leftMs < 0 ? `+${countdown(leftMs)}` : countdown(leftMs)}</b>
      <span>{what}</span>
    </a>
  );
}
