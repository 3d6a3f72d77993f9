import type { SystemView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** Nitrate and phosphate as they are estimated, and their ratio. */
export function NutrientPart({ system }: { system: SystemView }) {
  const { answer, failure } = useAnswer('GET /api/nutrients/:system', { params: { system: system.id } }, 60_000);
  if (answer === undefined) return <Failure text={failure} />;
  if (answer.nitrate === null && answer.phosphate === null) return null;
  return (
    <>
      <h4>Nutrients</h4>
      <Failure text={failure} />
      <p>{answer.text}</p>
    </>
  );
}
