import type { SystemView } from '../../http/room-view.ts';
import { Answers, Resume, reasonWords } from './advice-answers.tsx';
import { AdviceHistory } from './advice-history.tsx';
import { StandingPlans } from './standing-plan.tsx';
import { momentText } from './times.ts';
import { inSentence } from './words.ts';

type Item = SystemView['advice'][number];

const headings = {
  dose: 'Suggested dose',
  hold_back: 'Test again first',
  wait: 'Wait',
  nothing: 'Nothing to do',
} as const;

/** Water is changed and not dosed where the advice is about salinity. */
function headingOf({ kind, water }: Item['advice']): string {
  return kind === 'dose' && water !== undefined ? 'Suggested water' : headings[kind];
}

/** The hub suggests and a person decides: each suggestion shows its reason, its size, its cautions and its working. */
export function Advice({ system, zone }: { system: SystemView; zone: string }) {
  const declined = system.advice.filter((item) => item.declined !== null && item.advice.kind !== 'nothing');
  const asks = system.advice.filter((item) => item.declined === null && item.advice.kind !== 'nothing');
  const calm = system.advice.filter(({ advice }) => advice.kind === 'nothing');
  if (system.advice.length === 0 && system.plans.length === 0) return null;
  return (
    <div class="advice">
      <h3>Advice</h3>
      {asks.map((asked) => {
        const { analyte, advice: item } = asked;
        return (
          <div key={analyte} class="advice-item" data-analyte={analyte}>
            <p>
              <strong>
                {headingOf(item)}, {inSentence(analyte)}.
              </strong>{' '}
              {item.reason}
            </p>
            {item.holdBacks.length > 0 && (
              <ul>
                {item.holdBacks.map((each) => (
                  <li key={each.rule}>{each.text}</li>
                ))}
              </ul>
            )}
            <Answers system={system} item={asked} />
            <Working item={item} zone={zone} what={analyte} />
          </div>
        );
      })}
      {declined.map((item) => (
        <details key={item.analyte} class="advice-item advice-calm" data-analyte={item.analyte}>
          <summary>
            Declined, {inSentence(item.analyte)}: {item.declined === null ? '' : reasonWords[item.declined.reason]}
          </summary>
          {item.declined !== null && (
            <p>
              {item.declined.note} {item.declined.by}, {momentText(item.declined.timeMs, zone)}. It is folded away until
              it becomes other advice.
            </p>
          )}
          <p>{item.advice.reason}</p>
          <Resume system={system} item={item} />
          <Working item={item.advice} zone={zone} what={item.analyte} />
        </details>
      ))}
      {calm.map(({ analyte, advice: item }) => (
        <div key={analyte} class="advice-item advice-calm" data-analyte={analyte}>
          <p>{item.reason}</p>
          <Working item={item} zone={zone} what={analyte} />
        </div>
      ))}
      <StandingPlans system={system} zone={zone} />
      <AdviceHistory system={system.id} zone={zone} />
    </div>
  );
}

function Working({ item, zone, what }: { item: Item['advice']; zone: string; what: string }) {
  return (
    <details>
      <summary>Why, how sure, and cautions: {what}</summary>
      <p>{item.sure.text}</p>
      <p>Next test by {momentText(item.retestAtMs, zone)}.</p>
      {item.predicted !== undefined && item.predicted.sideEffects.length > 0 && (
        <ul>
          {item.predicted.sideEffects.map((effect) => (
            <li key={effect.metric}>{effect.text}</li>
          ))}
        </ul>
      )}
      {item.cautions.length > 0 && (
        <ul class="cautions">
          {item.cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      )}
      <ol>
        {item.working.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
    </details>
  );
}
