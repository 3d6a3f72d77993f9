import { useState } from 'preact/hooks';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { PieceAnswer } from '../../../api/pieces.ts';
import { useAnswer } from '../kit/use-answer.ts';

type LossCause = NonNullable<PieceAnswer['lost']>['cause'];

export const causeWords: Record<LossCause, string> = {
  pest: 'a pest',
  tissue_loss: 'tissue loss',
  bleached: 'bleached',
  broken: 'broken',
  never_settled: 'never settled',
  other_animal: 'another animal',
  unknown: 'unknown',
};

const spans = [
  { days: 30, words: '30 days' },
  { days: 365, words: 'a year' },
] as const;

/** What was lost and why, each cause as a bar of its count. */
export function LossesOfMonth({ now }: { now: number }) {
  const [days, setDays] = useState<number>(30);
  // Whole hours, so that the address does not change with every second.
  const hour = Math.ceil(now / hourMs) * hourMs;
  const span = { from: new Date(hour - days * dayMs).toISOString(), to: new Date(hour).toISOString() };
  const { answer } = useAnswer('GET /api/pieces/losses', { query: span }, 60_000);
  const causes = Object.entries(answer?.by_cause ?? {}) as [LossCause, number][];
  return (
    <section class="part" aria-labelledby="losses">
      <h3 id="losses">Lost</h3>
      <div class="buttons">
        {spans.map((each) => (
          <button key={each.days} type="button" aria-pressed={days === each.days} onClick={() => setDays(each.days)}>
            in {each.words}
          </button>
        ))}
      </div>
      {answer?.lost === 0 && <p>No piece was lost in {days} days.</p>}
      {causes.length > 0 && (
        <ul class="losses">
          {causes
            .toSorted(([, one], [, other]) => other - one)
            .map(([cause, count]) => (
              <li key={cause}>
                <span class="losses-count">{count}</span>
                <span>{causeWords[cause]}</span>
              </li>
            ))}
        </ul>
      )}
    </section>
  );
}
