import type { SystemView } from '../../../api/room.ts';
import { Cautions, Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** Lime water, a reactor, balanced salts: what each brings. */
export function SourcePart({ system }: { system: SystemView }) {
  const { told, failure } = useAnswer('GET /api/sources/:system', { params: { system: system.id } }, 60_000);
  if (told === undefined || told.length === 0) return <Failure text={failure} />;
  return (
    <>
      <h4>Lime water, reactor, balanced salts</h4>
      <Failure text={failure} />
      <ul>
        {told.map(({ stock, text }) => (
          <li key={stock}>{text}</li>
        ))}
      </ul>
      <Cautions texts={[...new Set(told.flatMap(({ cautions }) => cautions))]} />
    </>
  );
}
