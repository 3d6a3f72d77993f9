import { useEffect, useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { AskedPart } from './asked-part.tsx';

/** Learned from four months: nobody needs it sooner. */
const askEveryMs = 600_000;
const askSoonMs = 5_000;

/** The stated volume beside the one that doses and tests tell. */
export function VolumePart({ system }: { system: SystemView }) {
  // While it is worked out the hub answers that it is not there yet.
  const [everyMs, setEveryMs] = useState(askSoonMs);
  const { told, failure, isLearning } = useAnswer(
    'GET /api/volume/:system',
    { params: { system: system.id } },
    everyMs,
  );
  useEffect(() => setEveryMs(told === undefined ? askSoonMs : askEveryMs), [told === undefined]);
  const learned = told?.by_analyte.filter(({ is_learned }) => is_learned) ?? [];
  return (
    <AskedPart
      title="Water volume"
      isTold={told !== undefined || isLearning}
      failure={isLearning ? undefined : failure}
    >
      <p>{told?.text ?? 'Working it out from four months of doses and tests …'}</p>
      {learned.length > 0 && (
        <ul>
          {learned.map(({ analyte, litres, low95_l, high95_l, tests }) => (
            <li key={analyte}>
              By {analyte}: {litres.toFixed(0)} L, 19 times in 20 between {low95_l.toFixed(0)} and {high95_l.toFixed(0)}
              , from {tests} tests
            </li>
          ))}
        </ul>
      )}
    </AskedPart>
  );
}
