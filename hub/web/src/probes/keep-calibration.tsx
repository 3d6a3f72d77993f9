import { useEffect, useState } from 'preact/hooks';
import type { Verdict } from '../../../api/calibrations.ts';
import type { AskedOf } from '../../../api/contract.ts';
import type { ProbeDetail } from '../../../api/probes.ts';
import { recall, remember } from '../kit/remembered.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { newKey } from '../kit/unsent.ts';
import { change } from '../room/room-signals.ts';
import { verdictFigures, verdictOrder, verdictWords } from './probe-words.ts';

const reasons = ['routine', 'readings in doubt', 'a new probe or electrode', 'cleaned'] as const;
const whoMemory = 'who';

type Asked = AskedOf<'POST /api/calibrations'>['body'];
type Without<Entry, Names extends string> = Entry extends unknown ? Omit<Entry, Names> : never;

/** What was found in something known, without who found it and why it was looked for. */
export type Findings = Without<Asked, 'probe' | 'time' | 'by' | 'why' | 'key'>;

type Judged = { verdict: Verdict } | { refusal: string };

/** Asks the hub what a calibration would say of the probe; nothing is kept by that. */
async function judged(entry: Findings & { probe: string }): Promise<Judged> {
  const answer = await change('POST /api/calibrations', {
    query: { dry_run: 'true' },
    body: { ...entry, by: 'page', why: 'only a look' },
  });
  if (!answer.ok) return { refusal: answer.problem.detail === '' ? answer.problem.title : answer.problem.detail };
  return { verdict: answer.body.verdict };
}

function Judgement({ found }: { found: Judged }) {
  if ('refusal' in found)
    return (
      <p class="judgement verdict-refused" role="alert">
        <StateShape order="outside" /> Not taken: {found.refusal}
      </p>
    );
  const { verdict } = found;
  const figures = verdictFigures(verdict);
  return (
    <div class={`judgement verdict-${verdict.state}`}>
      <p>
        <StateShape order={verdictOrder(verdict)} /> <b>{verdictWords(verdict)}</b>
        {figures === '' ? '' : `: ${figures}`}
      </p>
      {/clean|replace/.test(verdict.state) && (
        <p>Check first: is it the right one, fresh, not contaminated, and at the temperature you entered?</p>
      )}
      {verdict.reasons.length > 0 && (
        <ul>
          {verdict.reasons.map((reason) => (
            <li key={reason}>{reason}</li>
          ))}
        </ul>
      )}
    </div>
  );
}

/** The verdict before anything is kept, then who and why, then keep. */
export function KeepCalibration({
  probe,
  entry,
  kept,
}: {
  probe: ProbeDetail;
  /** Undefined while nothing is taken. */
  entry: Findings | undefined;
  kept: () => void;
}) {
  const [found, setFound] = useState<Judged | undefined>(undefined);
  const [by, setBy] = useState(recall(whoMemory) ?? '');
  const [why, setWhy] = useState<string>(reasons[0]);
  const [answer, setAnswer] = useState<{ isBad: boolean; text: string } | undefined>(undefined);
  const [key, setKey] = useState(newKey);
  const asked = entry === undefined ? '' : JSON.stringify({ ...entry, probe: probe.id });

  useEffect(() => {
    let isCurrent = true;
    setFound(undefined);
    setKey(newKey());
    if (asked === '') return;
    setAnswer(undefined);
    void judged(JSON.parse(asked) as Findings & { probe: string }).then((verdict) => isCurrent && setFound(verdict));
    return () => {
      isCurrent = false;
    };
  }, [asked]);

  async function keep(): Promise<void> {
    if (by.trim() === '') {
      setAnswer({ isBad: true, text: 'Enter who calibrates.' });
      return;
    }
    remember(whoMemory, by.trim());
    if (entry === undefined) return;
    const body = { ...entry, probe: probe.id, by: by.trim(), why, key };
    const outcome = await change('POST /api/calibrations', { body });
    if (!outcome.ok) {
      setAnswer({ isBad: true, text: outcome.problem.detail === '' ? outcome.problem.title : outcome.problem.detail });
      return;
    }
    setAnswer({ isBad: false, text: 'Saved. It applies from the next reading.' });
    kept();
  }

  const isPoor = found !== undefined && 'verdict' in found && /clean|replace/.test(found.verdict.state);
  return (
    <section class="step" aria-labelledby="step-verdict">
      <h3 id="step-verdict">Verdict</h3>
      <div role="status">
        {asked === '' && answer === undefined && <p>Take a value first; nothing is saved until you say so.</p>}
        {asked !== '' && found === undefined && <p>Asking the hub …</p>}
        {found !== undefined && <Judgement found={found} />}
      </div>
      {found !== undefined && 'verdict' in found && (
        <form
          class="fields"
          aria-label="Save the calibration"
          onSubmit={(event) => {
            event.preventDefault();
            void keep();
          }}
        >
          <label for="by">
            Who
            <input id="by" value={by} maxLength={60} onInput={(event) => setBy(event.currentTarget.value)} />
          </label>
          <label for="why">
            Why
            <select id="why" value={why} onChange={(event) => setWhy(event.currentTarget.value)}>
              {reasons.map((reason) => (
                <option key={reason} value={reason}>
                  {reason}
                </option>
              ))}
            </select>
          </label>
          <button type="submit" class={isPoor ? '' : 'primary'}>
            {isPoor ? 'Save it anyway' : 'Save this calibration'}
          </button>
        </form>
      )}
      {answer !== undefined && (
        <p class={answer.isBad ? 'answer answer-bad' : 'answer'} role={answer.isBad ? 'alert' : 'status'}>
          {answer.text}
        </p>
      )}
    </section>
  );
}
