import type { SystemView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import { signText } from '../kit/shown-number.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { capital } from '../kit/words.ts';

/** A day changes little of what comes in months. */
const askEveryMs = 600_000;

/** When the use outgrows pumps, lime water, containers and water changes. */
export function MonthsPart({ system }: { system: SystemView }) {
  const { told, failure } = useAnswer('GET /api/months-ahead/:system', { params: { system: system.id } }, askEveryMs);
  if (told === undefined) return <Failure text={failure} />;
  return (
    <>
      <h4>Months ahead</h4>
      <Failure text={failure} />
      {told.outgrown.length === 0 ? (
        <p>{told.text}</p>
      ) : (
        <ul>
          {told.outgrown.map(({ analyte, what, text }) => (
            <li key={`${analyte} ${what}`}>{text}</li>
          ))}
        </ul>
      )}
      {told.growth.map(({ analyte, percent_per_month, low95, high95 }) => (
        <p key={analyte}>
          {capital(analyte)} use {percent_per_month < 0 ? 'fell' : 'rose'} {Math.abs(percent_per_month).toFixed(0)} % a
          month (19 times in 20 between {signText(low95.toFixed(0))} and {signText(high95.toFixed(0))} %).
        </p>
      ))}
    </>
  );
}
