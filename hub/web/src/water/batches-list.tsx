import { defined } from '#rules/plain-data/defined.ts';
import type { BatchAnswer } from '../../../api/batches.ts';
import type { RoomView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import type { BatchStart } from '../kit/batch-start.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { readNumber } from '../room/read-unit.ts';
import { batchAddress } from './batch-address.ts';
import { MakeBatch } from './make-batch.tsx';

/** A bath of three litres is measured to a tenth, a barrel is not. */
const litresText = (litres: number): string => litres.toFixed(litres < 20 ? 1 : 0);

/** What is left is solid, what is used hatched. */
export function LeftBar({ batch }: { batch: BatchAnswer }) {
  const share = Math.min(100, Math.max(0, (100 * batch.left_l) / batch.litres));
  return (
    <div class="strip left-bar" aria-hidden="true">
      <span class="strip-gone" style={{ width: `${share}%` }} />
    </div>
  );
}

function BatchItem({ batch, zone }: { batch: BatchAnswer; zone: string }) {
  const salinity = batch.water['salinity'];
  return (
    <li>
      <a class="arrival-item" href={batchAddress(batch.id)}>
        <b>
          {batch.id}: {litresText(batch.left_l)} of {litresText(batch.litres)} L left
        </b>
        <LeftBar batch={batch} />
        <span class="arrival-facts">
          {momentText(Date.parse(batch.made), zone)} · {batch.salt} ·{' '}
          {salinity === undefined ? 'salinity not measured' : `salinity ${readNumber('salinity', salinity, 1)}`}
        </span>
      </a>
    </li>
  );
}

function sentence(batches: readonly BatchAnswer[]): string {
  const there = batches.filter(({ left_l }) => left_l > 0);
  if (there.length === 0) return 'No new salt water ready.';
  const litres = there.reduce((sum, { left_l }) => sum + left_l, 0);
  const unmeasured = there.filter(({ water }) => water['salinity'] === undefined).length;
  const more =
    unmeasured === 0 ? '' : ` ${unmeasured === 1 ? 'One batch is' : `${unmeasured} batches are`} not measured yet.`;
  return `${litresText(litres)} L of new salt water ready.${more}`;
}

/** Batches that stand there, and a form for another. */
export function BatchesList({ view, start }: { view: RoomView; start?: BatchStart }) {
  const { answer, failure } = useAnswer('GET /api/batches', {});
  const batches = (answer ?? []).toReversed();
  const there = batches.filter(({ left_l }) => left_l > 0);
  const used = batches.filter(({ left_l }) => left_l <= 0);
  return (
    <main class="page page-broad">
      <h2 tabIndex={-1} data-view-title>
        New salt water
      </h2>
      <Failure text={failure} />
      {answer !== undefined && <p class="sentence">{sentence(batches)}</p>}
      <div class="parts">
        <section class="part" aria-labelledby="make">
          <h3 id="make">Make a batch</h3>
          <MakeBatch view={view} salts={[...new Set(batches.map(({ salt }) => salt))]} {...defined({ start })} />
        </section>
        {there.length > 0 && (
          <section class="part" aria-labelledby="there">
            <h3 id="there">Ready</h3>
            <ul class="arrivals">
              {there.map((batch) => (
                <BatchItem key={batch.id} batch={batch} zone={view.timezone} />
              ))}
            </ul>
          </section>
        )}
      </div>
      {used.length > 0 && (
        <details>
          <summary>{used.length} used up</summary>
          <ul class="arrivals">
            {used.slice(0, 100).map((batch) => (
              <BatchItem key={batch.id} batch={batch} zone={view.timezone} />
            ))}
          </ul>
        </details>
      )}
    </main>
  );
}
