import { useState } from 'preact/hooks';
import type { SystemView } from '../../http/room-view.ts';
import { EntryForm } from './entry-form.tsx';
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

/** One dose as advice would have it now, ready to be stored when it was given. */
function LogDose({ system, item }: { system: SystemView; item: Item['advice'] }) {
  const [isOpen, setOpen] = useState(false);
  const dose = item.correction ?? item.maintenance;
  const amount = dose?.largestDose;
  if (item.kind !== 'dose' || amount === undefined || dose?.unit !== 'mL') return null;
  const stock = system.stocks.find(({ id }) => id === item.product?.id);
  if (stock === undefined) return null;
  return (
    <>
      <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
        I gave a dose
      </button>
      {isOpen && <EntryForm system={system} kind="dose" amount={{ what: stock.id, value: String(amount) }} />}
    </>
  );
}

/** The hub suggests and a person decides: each suggestion shows its reason, its size, its cautions and its working. */
export function Advice({ system, zone }: { system: SystemView; zone: string }) {
  const asks = system.advice.filter(({ advice }) => advice.kind !== 'nothing');
  const calm = system.advice.filter(({ advice }) => advice.kind === 'nothing');
  if (system.advice.length === 0) return null;
  return (
    <div class="advice">
      <h3>Advice</h3>
      {asks.map(({ analyte, advice: item }) => (
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
          <LogDose system={system} item={item} />
          <Working item={item} zone={zone} what={analyte} />
        </div>
      ))}
      {calm.map(({ analyte, advice: item }) => (
        <div key={analyte} class="advice-item advice-calm" data-analyte={analyte}>
          <p>{item.reason}</p>
          <Working item={item} zone={zone} what={analyte} />
        </div>
      ))}
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
