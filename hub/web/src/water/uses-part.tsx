import { useState } from 'preact/hooks';
import type { BatchAnswer, ChangeEffectAnswer } from '../../../api/batches.ts';
import { send } from '../corals/hub-ask.ts';
import { momentText } from '../kit/times.ts';

const figure = (value: number | null) => (value === null ? 'not known' : String(Number(value.toFixed(2))));

/** What a change really did, beside what was expected of it. */
function Effect({ change }: { change: number }) {
  const [effect, setEffect] = useState<ChangeEffectAnswer | string | undefined>(undefined);

  async function look(): Promise<void> {
    const answer = await send('GET /api/water-changes/:id/effect', { params: { id: change } });
    setEffect(answer.ok ? answer.body : answer.problem.detail);
  }

  if (effect === undefined)
    return (
      <button type="button" onClick={() => void look()}>
        What it did
      </button>
    );
  if (typeof effect === 'string') return <span class="asked-error">{effect}</span>;
  if (effect.length === 0) return <span>Not measured before and after it yet.</span>;
  return (
    <span>
      {effect.map(
        ({ metric, before, expected, after, by }) =>
          `${metric} ${figure(before)} to ${figure(after)} by ${by}, expected ${figure(expected)}. `,
      )}
    </span>
  );
}

/** Where the water of a batch went. */
export function UsesPart({ batch, zone }: { batch: BatchAnswer; zone: string }) {
  return (
    <section class="part" aria-labelledby="uses">
      <h3 id="uses">Used for</h3>
      {batch.uses.length === 0 && <p>Not used yet.</p>}
      <ol class="history">
        {batch.uses.toReversed().map(({ time, litres, water_change }) => (
          <li key={`${time} ${water_change}`}>
            <span class="history-time">{momentText(Date.parse(time), zone)}</span>
            <span class="history-state">{litres.toFixed(1)} L</span>
            <span>
              {water_change === null ? (
                'used'
              ) : (
                <>
                  water change {water_change}. <Effect change={water_change} />
                </>
              )}
            </span>
          </li>
        ))}
      </ol>
    </section>
  );
}
