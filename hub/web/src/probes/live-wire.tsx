import type { ProbeDetail } from '../../../api/probes.ts';
import { ageText } from '../kit/times.ts';
import { nowMs } from '../room/room-signals.ts';
import { wireText } from './probe-words.ts';

const words = { steady: 'steady', moving: 'still moving', too_few: 'wait', silent: 'silent' } as const;

function spreadWords({ steadiness }: ProbeDetail): string {
  const { state, spread, limit, overMs, readings } = steadiness;
  const seconds = Math.round(overMs / 1000);
  if (state === 'silent') return 'no signal in the last two minutes';
  if (spread === null || limit === null) return `${readings} readings in ${seconds} s so far; half a minute is needed`;
  const say = (value: number, figures: number) => String(Number(value.toPrecision(figures)));
  // So many figures that what is too much does not read like what is allowed.
  const figures = [2, 3, 4].find((each) => say(spread, each) !== say(limit, each)) ?? 2;
  const moved = `moved ${say(spread, figures)} in ${seconds} s`;
  const allowed = say(limit, figures);
  return state === 'steady' ? `${moved}, up to ${allowed} is steady` : `${moved}, must be ${allowed} or less`;
}

/** Level bars are steady, a stair is moving, an empty ring is not heard: told by the shape and by the word. */
function SteadyShape({ state }: { state: ProbeDetail['steadiness']['state'] }) {
  return (
    <svg class="shape steady-shape" viewBox="0 0 16 16" aria-hidden="true">
      {state === 'steady' && <path d="M1 5h14v2H1zM1 9h14v2H1z" />}
      {state === 'moving' && <path d="M1 11h4v3H1zM6 7h4v7H6zM11 2h4v12h-4z" />}
      {state === 'too_few' && <path d="M2 7h3v3H2zM6.5 7h3v3h-3zM11 7h3v3h-3z" />}
      {state === 'silent' && <circle cx="8" cy="8" r="5" class="hollow" />}
    </svg>
  );
}

/** What the probe sends just now, and whether it has settled. */
export function LiveWire({ probe }: { probe: ProbeDetail }) {
  const { wire, steadiness } = probe;
  return (
    <div class={`live-wire live-${steadiness.state}`}>
      <p class="live-number">
        <small>Live</small> <b>{wire === null ? '–' : wireText(wire)}</b>
        <small>{wire === null ? 'no reading yet' : ageText(nowMs.value - wire.time)}</small>
      </p>
      <p class="live-words" data-steadiness={steadiness.state}>
        <SteadyShape state={steadiness.state} /> <b>{words[steadiness.state]}</b> <span>{spreadWords(probe)}</span>
      </p>
    </div>
  );
}
