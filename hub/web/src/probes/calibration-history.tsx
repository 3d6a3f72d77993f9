import { useState } from 'preact/hooks';
import { dayMs } from '#rules/clock/durations.ts';
import type { CalibrationsOfProbe } from '../../../api/calibrations.ts';
import { slowlyWithinMs } from '../kit/ask.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { momentText, offsetMs } from '../kit/times.ts';
import { takeBack } from '../kit/unsent.ts';
import { change } from '../room/room-signals.ts';
import { verdictFigures, verdictOrder, verdictWords } from './probe-words.ts';

type Kept = CalibrationsOfProbe['calibrations'][number];

const weekMs = 7 * dayMs;

/** A moment as a field of the page takes it, by the wall clock of the site: `2026-11-25T14:05`. */
function fieldText(timeMs: number, zone: string): string {
  return new Date(timeMs + offsetMs(timeMs, zone)).toISOString().slice(0, 16);
}

function momentOf(text: string, zone: string): number {
  const wall = Date.parse(`${text}:00Z`);
  return wall - offsetMs(wall - offsetMs(wall, zone), zone);
}

/** The stored readings of a span are corrected by this calibration: a probe may have been off for days before it was seen. */
function ApplyToHistory({ kept, before, zone }: { kept: Kept; before: Kept | undefined; zone: string }) {
  const ownMs = Date.parse(kept.time);
  const [from, setFrom] = useState(fieldText(before === undefined ? ownMs - weekMs : Date.parse(before.time), zone));
  const [to, setTo] = useState(fieldText(ownMs + 60_000, zone));
  const [answer, setAnswer] = useState('');

  async function apply(): Promise<string> {
    const [fromMs, toMs] = [momentOf(from, zone), momentOf(to, zone)];
    if (!(fromMs < toMs)) return 'Choose a start and a later end.';
    setAnswer('Correcting …');
    const span = { from: new Date(fromMs).toISOString(), to: new Date(toMs).toISOString() };
    const outcome = await change(
      'POST /api/calibrations/:id/apply-to-history',
      { params: { id: kept.id }, body: { ...span, by: 'page' } },
      slowlyWithinMs,
    );
    if (!outcome.ok) return `${outcome.problem.title}. ${outcome.problem.detail}`;
    return `${outcome.body.readings} readings corrected, with all that is computed from them. The journal notes it.`;
  }

  return (
    <details>
      <summary>Correct stored readings by it</summary>
      <div class="fields">
        <label for={`from-${kept.id}`}>
          From
          <input
            id={`from-${kept.id}`}
            type="datetime-local"
            value={from}
            onInput={(event) => setFrom(event.currentTarget.value)}
          />
        </label>
        <label for={`to-${kept.id}`}>
          Up to
          <input
            id={`to-${kept.id}`}
            type="datetime-local"
            value={to}
            onInput={(event) => setTo(event.currentTarget.value)}
          />
        </label>
        <button type="button" onClick={() => void apply().then(setAnswer)}>
          Correct them
        </button>
      </div>
      {answer !== '' && <p role="status">{answer}</p>}
    </details>
  );
}

/** The calibrations of a probe, the newest first; each can be taken back, and applied to what is stored. */
export function CalibrationHistory({
  calibrations,
  zone,
  changed,
}: {
  calibrations: readonly Kept[];
  zone: string;
  changed: () => void;
}) {
  const [problem, setProblem] = useState('');
  const ordered = calibrations.toReversed();

  async function undo(entry: number): Promise<void> {
    setProblem((await takeBack(entry)) ?? '');
    changed();
  }

  return (
    <section aria-labelledby="history">
      <h3 id="history">Before</h3>
      {ordered.length === 0 && <p>Never calibrated here.</p>}
      {problem !== '' && <p role="alert">{problem}</p>}
      <ol class="calibrations">
        {ordered.map((kept, index) => (
          <li key={kept.id}>
            <p>
              <span class="history-time">{momentText(Date.parse(kept.time), zone)}</span> {kept.by}: {kept.why}
            </p>
            <p>
              <StateShape order={verdictOrder(kept.verdict)} /> {verdictWords(kept.verdict)}
              {verdictFigures(kept.verdict) === '' ? '' : `: ${verdictFigures(kept.verdict)}`}
            </p>
            <button type="button" onClick={() => void undo(kept.id)}>
              Take back
            </button>
            <ApplyToHistory kept={kept} before={ordered[index + 1]} zone={zone} />
          </li>
        ))}
      </ol>
    </section>
  );
}
