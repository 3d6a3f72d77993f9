import type { SystemView } from '../../../api/room.ts';
import { Cautions, Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** Lime water, a reactor, balanced salts: what each brings. */
export function SourcePart({ system }: { system: SystemView }) {
  const { answer, failure } = useAnswer('GET /api/sources/:system', { params: { system: system.id } }, 60_000);
  if (answer === undefined || answer.length === 0) return <Failure text={failure} />;
  return (
    <>
      <h4>Lime water, reactor, balanced salts</h4>
      <Failure text={failure} />
      <ul>
        {answer.map(({ stock, text }) => (
          <li key={stock}>{text}</li>
        ))}
      </ul>
      <Cautions texts={[...new Set(answer.flatMap(({ cautions }) => cautions))]} />
    </>
  );
}
