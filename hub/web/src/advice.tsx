import type { SystemView } from '../../http/room-view.ts';

type Item = SystemView['advice'][number];

const headings = { dose: 'Suggested dose', hold_back: 'Retest first', wait: 'Wait', nothing: 'Nothing to do' } as const;

/** The hub suggests and a person decides: each suggestion shows its reason, its size, its cautions and its working. */
export function Advice({ advice }: { advice: Item[] }) {
  if (advice.length === 0) return null;
  return (
    <div class="advice">
      <h3>Advice</h3>
      {advice.map(({ analyte, advice: item }) => (
        <div key={analyte} class="advice-item" data-analyte={analyte}>
          <p>
            <strong>
              {headings[item.kind]}, {analyte}
            </strong>
          </p>
          <p>{item.reason}</p>
          {item.holdBacks.length > 0 && (
            <ul>
              {item.holdBacks.map((each) => (
                <li key={each.rule}>{each.text}</li>
              ))}
            </ul>
          )}
          <details>
            <summary>Why, how sure, and cautions</summary>
            <p>{item.sure.text}</p>
            <ul>
              {item.predicted?.sideEffects.map((effect) => (
                <li key={effect.metric}>{effect.text}</li>
              ))}
              {item.cautions.map((caution) => (
                <li key={caution}>{caution}</li>
              ))}
              {item.working.map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
          </details>
        </div>
      ))}
    </div>
  );
}
