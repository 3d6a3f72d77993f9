import type { SystemView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** Nitrate and phosphate as they are estimated, and their ratio. */
export function NutrientPart({ system }: { system: SystemView }) {
  const { told, failure } = useAnswer('GET /api/nutrients/:system', { params: { system: system.id } }, 60_000);
  if (told === undefined) return <Failure text={failure} />;
  if (told.nitrate === null && told.phosphate === null) return null;
  return (
    <>
      <h4>Nutrients</h4>
      <Failure text={failure} />
      <p>{told.text}</p>
    </>
  );
}
