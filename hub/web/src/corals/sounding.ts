import { effect, signal } from '@preact/signals';
import { askRoute } from '../kit/ask.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { type Phase, phaseOf, type Timer } from './timer.ts';

/**
 * Timers that ring on this device. Is: a tone and a vibration when a timer ends, again and again until the step is done or
 * the person silences it, also while another view of the page is open. Is not: heard before the sound was armed by a touch
 * (browsers ask for one after every load), or while the phone sleeps; the hub's own line to the phone is for that.
 */

/** Whether this load of the page may sound. */
export const isArmed = signal(false);
/** Runs whose present ring a person has silenced, by run and phase. */
export const silenced = signal<readonly string[]>([]);

type Rings = { timer: Timer; rangAtMs: number; rangFor?: Phase };

const timers = new Map<string, Rings>();
let context: AudioContext | undefined;

/** How often each phase rings. At the maximum nobody shall get used to it. */
const againMs: Record<Exclude<Phase, 'runs'>, number> = { soon: Number.POSITIVE_INFINITY, over: 10_000, maximum: 3000 };
/** Tones in hertz, one after the other; low tones carry over pumps, and old ears hear them. */
const tones: Record<Exclude<Phase, 'runs'>, readonly number[]> = {
  soon: [660],
  over: [660, 880, 660, 880],
  maximum: [990, 700, 990, 700, 990, 700],
};
const tone_s = 0.22;

/** Must be called from a touch or a key: browsers give sound to nobody else. */
export function arm(): void {
  try {
    context ??= new AudioContext();
    void context.resume();
    isArmed.value = true;
    play([660], 0.15);
  } catch {
    // A device without sound still vibrates and shows.
    isArmed.value = false;
  }
  followClock();
}

function play(hertz: readonly number[], loudness = 0.5): void {
  if (context === undefined) return;
  hertz.forEach((frequency, place) => {
    if (context === undefined) return;
    const oscillator = context.createOscillator();
    const gain = context.createGain();
    const start = context.currentTime + place * (tone_s + 0.06);
    oscillator.type = 'square';
    oscillator.frequency.value = frequency;
    gain.gain.setValueAtTime(loudness, start);
    gain.gain.exponentialRampToValueAtTime(0.001, start + tone_s);
    oscillator.connect(gain).connect(context.destination);
    oscillator.start(start);
    oscillator.stop(start + tone_s);
  });
}

/** What the hub tells of a run's timer; undefined when it has none. */
export function follow(run: string, timer: Timer | undefined): void {
  const known = timers.get(run);
  if (timer === undefined) {
    timers.delete(run);
    silenced.value = silenced.value.filter((name) => !name.startsWith(`${run} `));
  } else if (known?.timer.started !== timer.started) timers.set(run, { timer, rangAtMs: 0 });
  followClock();
}

export function silence(run: string, phase: Phase): void {
  silenced.value = [...silenced.value, `${run} ${phase}`];
  navigator.vibrate?.(0);
}

let isFollowing = false;

function followClock(): void {
  if (isFollowing) return;
  isFollowing = true;
  effect(() => {
    // Read so that every second is a look; the hub's clock decides.
    void nowMs.value;
    for (const [run, rings] of timers) ring(run, rings, hubNowMs());
  });
}

function ring(run: string, rings: Rings, now: number): void {
  const phase = phaseOf(rings.timer, now);
  if (phase === 'runs' || silenced.peek().includes(`${run} ${phase}`)) return;
  if (rings.rangFor === phase && now - rings.rangAtMs < againMs[phase]) return;
  rings.rangFor = phase;
  rings.rangAtMs = now;
  if (isArmed.peek()) play(tones[phase]);
  navigator.vibrate?.(phase === 'soon' ? 200 : [400, 150, 400, 150, 400]);
  void lookAgain(run);
}

/** Somebody may have ended the step on another device while this page shows another view: it must not ring for ever. */
async function lookAgain(run: string): Promise<void> {
  const answer = await askRoute('GET /api/runs/:run', { params: { run } });
  if (answer.ok) follow(run, answer.body.timer ?? undefined);
  else if (answer.problem.status === 404) follow(run, undefined);
}
