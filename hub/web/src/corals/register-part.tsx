import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import type { PieceAnswer } from '../../../api/pieces.ts';
import { Asked, Submit, TextField } from './fields.tsx';
import { given, useForm } from './form.ts';
import { PieceItems } from './piece-items.tsx';

/** Pieces that came and do not stand in the register, by kind: not entered yet, or taken back. */
function missing(arrival: ArrivalAnswer, pieces: readonly PieceAnswer[]) {
  return arrival.pieces.map(({ kind, count }) => {
    const known = pieces.filter((piece) => piece.kind === kind && piece.frag_of === null).length;
    return { kind, count, absent: Math.max(0, count - known) };
  });
}

/** More at once is done by the command line. */
const mostAtOnce = 200;

/** The pieces of an arrival in the register, one entry each. */
export function RegisterPart(props: { arrival: ArrivalAnswer; pieces: readonly PieceAnswer[]; again(): void }) {
  const { arrival, pieces, again } = props;
  const form = useForm(`register.${arrival.id}`, { place: '' });
  const kinds = missing(arrival, pieces);
  const absent = Math.min(
    mostAtOnce,
    kinds.reduce((sum, kind) => sum + kind.absent, 0),
  );

  async function register(): Promise<void> {
    const place = (form.values['place'] ?? '').trim();
    const known = new Set(pieces.map(({ id }) => id));
    for (const { kind, count, absent: wanted } of kinds) {
      // Which of them is missing only the hub knows: the key of one that is there finds that one.
      for (let [number, left] = [1, wanted]; number <= count && left > 0; number += 1) {
        const body = given({
          system: arrival.system,
          kind,
          arrival: arrival.id,
          source: arrival.source ?? undefined,
          place: place === '' ? undefined : place,
          // The same piece of the same arrival is one piece, however often the button is pressed.
          key: `${arrival.id}-${kind.slice(0, 60)}-${number}`,
        });
        const told = await form.submit('POST /api/pieces', { body });
        if (told === undefined) {
          again();
          return;
        }
        if (!known.has(told.id)) left -= 1;
      }
    }
    form.clear();
    again();
  }

  return (
    <section class="part" aria-labelledby="pieces">
      <h3 id="pieces">Pieces</h3>
      {pieces.length === 0 && absent === 0 && <p>None entered with this arrival.</p>}
      <PieceItems pieces={pieces} />
      {absent > 0 && arrival.state === 'arrived' && (
        <Asked label="Add the pieces to the list" onSend={() => void register()} isBusy={form.isBusy}>
          <p class="aside">Listed, each piece has its own history.</p>
          <div class="asked-row">
            <TextField form={form} name="place" label="Place" />
            <Submit form={form} words={absent === 1 ? 'Add the piece' : `Add ${absent} pieces`} isQuiet />
          </div>
        </Asked>
      )}
    </section>
  );
}
