import type { SystemView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** What dosing leaves in the water over months. */
export function IonsPart({ system }: { system: SystemView }) {
  const { told, failure } = useAnswer('GET /api/ions/:system', { params: { system: system.id } }, 300_000);
  return (
    <>
      <h4>What dosing leaves</h4>
      <Failure text={failure} />
      {told?.text.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}
