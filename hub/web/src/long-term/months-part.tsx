import type { AnswerOf } from '../../../api/contract.ts';
import type { SystemView } from '../../../api/room.ts';
import { signText } from '../kit/shown-number.ts';
import { capital } from '../kit/words.ts';
import { AskedPart } from './asked-part.tsx';
import { useSlowAnswer } from './slow-answer.ts';

/** What is less likely than this within a year is folded away. */
const worthALine = 0.2;

type Outgrown = AnswerOf<'GET /api/months-ahead/:system'>['outgrown'][number];

function Lines({ of }: { of: readonly Outgrown[] }) {
  return (
    <ul>
      {of.map(({ analyte, what, text }) => (
        <li key={`${analyte} ${what}`}>{text}</li>
      ))}
    </ul>
  );
}

/** When the use outgrows pumps, lime water, containers and water changes. */
export function MonthsPart({ system }: { system: SystemView }) {
  const { answer, failure } = useSlowAnswer('GET /api/months-ahead/:system', { params: { system: system.id } });
  const isFar = ({ likely_days, chance_within_a_year }: Outgrown) =>
    likely_days === null && chance_within_a_year < worthALine;
  const near = answer?.outgrown.filter((each) => !isFar(each)) ?? [];
  const far = answer?.outgrown.filter(isFar) ?? [];
  return (
    <AskedPart title="Months ahead" isTold={answer !== undefined} failure={failure}>
      {answer?.outgrown.length === 0 && <p>{answer.text}</p>}
      <Lines of={near} />
      {far.length > 0 && (
        <details>
          <summary>
            {near.length === 0 ? 'No limit is reached within a year' : `${far.length} not within a year`}
          </summary>
          <Lines of={far} />
        </details>
      )}
      {answer?.growth.map(({ analyte, percent_per_month, low95, high95 }) => (
        <p key={analyte}>
          {capital(analyte)} use {percent_per_month < 0 ? 'fell' : 'rose'} {Math.abs(percent_per_month).toFixed(0)} % a
          month (95 % interval {signText(low95.toFixed(0))} to {signText(high95.toFixed(0))} %).
        </p>
      ))}
    </AskedPart>
  );
}
