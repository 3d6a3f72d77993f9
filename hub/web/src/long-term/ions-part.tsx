import type { SystemView } from '../../../api/room.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { AskedPart } from './asked-part.tsx';

/** What dosing leaves in the water over months. */
export function IonsPart({ system }: { system: SystemView }) {
  const { answer, failure } = useAnswer('GET /api/ions/:system', { params: { system: system.id } }, 300_000);
  return (
    <AskedPart title="What dosing leaves" isTold={answer !== undefined} failure={failure}>
      {answer?.text.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </AskedPart>
  );
}
