import type { SystemView } from '../../../api/room.ts';
import { momentText } from '../kit/times.ts';
import { capital, inSentence, listed, unbroken } from '../kit/words.ts';
import { Answers, Resume, reasonWords } from './advice-answers.tsx';
import { AdviceHistory } from './advice-history.tsx';
import { adviceLine } from './advice-line.ts';
import { StandingPlans } from './standing-plan.tsx';

type Item = SystemView['advice'][number];

/**
 * The hub suggests and a person decides. Each suggestion is one line that says the deed; open it shows its reason, what can be
 * answered, how sure it is, its cautions and its working. What asks for nothing is one line for all.
 */
export function Advice({ system, zone, isShort }: { system: SystemView; zone: string; isShort: boolean }) {
  const declined = system.advice.filter((item) => item.declined !== null && item.advice.kind !== 'nothing');
  const asks = system.advice.filter((item) => item.declined === null && item.advice.kind !== 'nothing');
  const calm = system.advice.filter(({ advice }) => advice.kind === 'nothing');
  if (isShort ? asks.length === 0 : system.advice.length === 0 && system.stocks.length === 0) return null;
  return (
    <div class="advice">
      <h3>Advice</h3>
      {asks.map((asked) => {
        const { analyte, advice: item } = asked;
        return (
          <details key={analyte} class="advice-item" data-analyte={analyte}>
            <summary>
              <span>
                <strong>{capital(analyte)}:</strong> {unbroken(adviceLine(system, item))}
              </span>
            </summary>
            <p>{unbroken(item.reason)}</p>
            {/* The first of them is the reason itself. */}
            {item.holdBacks.length > 1 && (
              <ul>
                {item.holdBacks.slice(1).map((each) => (
                  <li key={each.rule}>{unbroken(each.text)}</li>
                ))}
              </ul>
            )}
            <Cautions of={item} />
            <Answers system={system} item={asked} />
            <Working item={item} zone={zone} />
          </details>
        );
      })}
      {!isShort && (
        <>
          {declined.map((item) => (
            <details key={item.analyte} class="advice-item advice-calm" data-analyte={item.analyte}>
              <summary>
                Declined, {inSentence(item.analyte)}: {item.declined === null ? '' : reasonWords[item.declined.reason]}
              </summary>
              {item.declined !== null && (
                <p>
                  {item.declined.note} {item.declined.by}, {momentText(item.declined.timeMs, zone)}. It is folded away
                  until it becomes other advice.
                </p>
              )}
              <p>{unbroken(item.advice.reason)}</p>
              <Cautions of={item.advice} />
              <Resume system={system} item={item} />
              <Working item={item.advice} zone={zone} />
            </details>
          ))}
          {calm.length > 0 && (
            <details class="advice-item advice-calm">
              <summary>Nothing to do: {listed(calm.map(({ analyte }) => analyte))}</summary>
              {calm.map(({ analyte, advice: item }) => (
                <div key={analyte} data-analyte={analyte}>
                  <p>{unbroken(item.reason)}</p>
                  <Cautions of={item} />
                  <Working item={item} zone={zone} />
                </div>
              ))}
            </details>
          )}
          <StandingPlans system={system} zone={zone} />
          <AdviceHistory system={system.id} zone={zone} />
        </>
      )}
    </div>
  );
}

/** What to heed, before whoever reads it can say that it is done. */
function Cautions({ of }: { of: Item['advice'] }) {
  if (of.cautions.length === 0) return null;
  return (
    <ul class="cautions">
      {of.cautions.map((caution) => (
        <li key={caution}>{caution}</li>
      ))}
    </ul>
  );
}

/** What else it does, how sure it is, and how it was worked out. */
function Working({ item, zone }: { item: Item['advice']; zone: string }) {
  return (
    <>
      {item.predicted !== undefined && item.predicted.sideEffects.length > 0 && (
        <ul>
          {item.predicted.sideEffects.map((effect) => (
            <li key={effect.metric}>{unbroken(effect.text)}</li>
          ))}
        </ul>
      )}
      <p class="how-sure">{unbroken(`${item.sure.text} Next test by ${momentText(item.retestAtMs, zone)}.`)}</p>
      <ol>
        {item.working.map((line) => (
          <li key={line}>{unbroken(line)}</li>
        ))}
      </ol>
    </>
  );
}
