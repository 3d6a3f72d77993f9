import type { SystemView } from '../../../api/room.ts';
import { AskedPart } from './asked-part.tsx';
import { useSlowAnswer } from './slow-answer.ts';

/** The stated volume beside the one that doses and tests tell. */
export function VolumePart({ system }: { system: SystemView }) {
  const { answer, failure, isLearning } = useSlowAnswer('GET /api/volume/:system', { params: { system: system.id } });
  const learned = answer?.by_analyte.filter(({ is_learned }) => is_learned) ?? [];
  return (
    <AskedPart
      title="Water volume"
      isTold={answer !== undefined || isLearning}
      failure={isLearning ? undefined : failure}
    >
      <p>{answer?.text ?? 'Working it out from four months of doses and tests …'}</p>
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
