import { countdown } from '../kit/countdown.ts';
import { momentText } from '../kit/times.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { arm, isArmed, silence, silenced } from './sounding.ts';
import { type Phase, phaseOf, swirlPrompt, type Timer } from './timer.ts';

const phaseWords: Record<Phase, string> = {
  runs: 'left',
  soon: 'left: dry your hands',
  over: 'overdue',
  maximum: 'overdue, past the maximum',
};

/** Time that has passed is solid, time to come is hatched, as everywhere on the page; bars stand at the end and the maximum. */
function Strip({ timer, now }: { timer: Timer; now: number }) {
  const [start, end] = [Date.parse(timer.started), Date.parse(timer.ends)];
  const last = Math.max(end, timer.maximum === null ? 0 : Date.parse(timer.maximum));
  const across = (time: number) => Math.min(100, Math.max(0, (100 * (time - start)) / (last - start)));
  return (
    <div class="strip" aria-hidden="true">
      <span class="strip-gone" style={{ width: `${across(now)}%` }} />
      <span class="strip-bar" style={{ left: `${across(end)}%` }} />
      {timer.maximum !== null && <span class="strip-bar" style={{ left: '100%' }} />}
    </div>
  );
}

type BigTimerProps = {
  run: string;
  timer: Timer;
  what: string;
  zone: string;
  /** Pieces lie in a dip, whose water has to be moved. */
  isSoak: boolean;
};

/** The time of the step at hand, to be read across the room. The hub's clock counts: every device shows the same. */
export function BigTimer({ run, timer, what, zone, isSoak }: BigTimerProps) {
  // Read, so that each second draws it again; the finer clock decides.
  void nowMs.value;
  const now = hubNowMs();
  const phase = phaseOf(timer, now);
  const left = Date.parse(timer.ends) - now;
  const swirl = isSoak ? swirlPrompt(timer, now) : undefined;
  const isRinging = phase === 'over' || phase === 'maximum';
  const isQuiet = silenced.value.includes(`${run} ${phase}`);
  return (
    <section class={`big-timer big-timer-${phase}`} aria-label="Timer">
      <p class="big-timer-time" role="timer">
        {left < 0 && <span class="big-timer-sign">+</span>}
        {countdown(left)}
      </p>
      <p class="big-timer-words">{phaseWords[phase]}</p>
      {swirl !== undefined && (
        <p class="big-timer-words" role="status">
          {swirl}
        </p>
      )}
      <Strip timer={timer} now={now} />
      <p class="big-timer-ends">
        {timer.maximum === null ? 'ends' : 'take out at'} {momentText(Date.parse(timer.ends), zone).split(', ').at(-1)}
        {timer.maximum !== null && `, at the latest ${momentText(Date.parse(timer.maximum), zone).split(', ').at(-1)}`}
      </p>
      {/* Told once for each phase: a screen reader must not count seconds. */}
      <p class="visually-hidden" role="alert">
        {phase === 'soon' && `One minute left: ${what}.`}
        {phase === 'over' && `Time is up: ${what}.`}
        {phase === 'maximum' && 'Act now: the soak is past its maximum. Take the pieces out.'}
      </p>
      <div class="buttons">
        {!isArmed.value && (
          <button type="button" class="primary" onClick={arm}>
            Turn sound on
          </button>
        )}
        {isRinging && !isQuiet && (
          <button type="button" onClick={() => silence(run, phase)}>
            Quiet
          </button>
        )}
      </div>
      <p class="big-timer-sound">
        {isArmed.value
          ? 'This device sounds and vibrates when time is up, while its screen is on.'
          : 'Sound is off until you turn it on: browsers want a tap after each load.'}
      </p>
    </section>
  );
}
