import type { BatchAnswer } from '../../../api/batches.ts';
import type { RoomView } from '../../../api/room.ts';
import { Match } from '../corals/bath-part.tsx';
import { Asked, Failure, NumberField, Submit } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { readNumber, withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { LeftBar } from './batches-list.tsx';
import { ChangePart } from './change-part.tsx';
import { CorrectPart } from './correct-part.tsx';
import { UsesPart } from './uses-part.tsx';

const firstMetrics = ['temperature', 'salinity', 'alkalinity'] as const;
const furtherMetrics = ['calcium', 'magnesium', 'nitrate', 'phosphate'] as const;

const metricWords: Record<string, string> = {
  temperature: 'Temperature',
  salinity: 'Salinity',
  salinity_sd: 'Salinity, standard uncertainty',
  alkalinity: 'Alkalinity',
  calcium: 'Calcium',
  magnesium: 'Magnesium',
  nitrate: 'Nitrate',
  phosphate: 'Phosphate',
};

const labelOf = (metric: string) => withUnit(metricWords[metric] ?? metric, metric);

function Measure({ batch, know }: { batch: BatchAnswer; know(batch: BatchAnswer): void }) {
  const names = [...firstMetrics, ...furtherMetrics, 'salinity_sd'];
  const form = useForm(`batch-water.${batch.id}`, Object.fromEntries(names.map((name) => [name, ''])), typedAsNamed);

  async function store(): Promise<void> {
    const check = checked(form);
    const measured = given(Object.fromEntries(names.map((name) => [name, check.number(name, name)])));
    if (Object.keys(measured).every((name) => name === 'salinity_sd') && check.isGood())
      check.wrong('temperature', 'Enter what you measured.');
    if (!check.isGood()) return;
    const asked = { params: { id: batch.id }, body: { ...measured, by: 'page' } };
    const told = await form.submit('POST /api/batches/:id/water', asked);
    if (told === undefined) return;
    form.clear();
    know(told);
  }

  const field = (name: string) => <NumberField key={name} form={form} name={name} label={labelOf(name)} />;
  return (
    <Asked label="What you measured" onSend={() => void store()} isBusy={form.isBusy}>
      <div class="asked-row">{firstMetrics.map(field)}</div>
      <details>
        <summary>More that you measured</summary>
        <div class="asked-row">{[...furtherMetrics, 'salinity_sd'].map(field)}</div>
      </details>
      <Submit form={form} words="Measured" />
    </Asked>
  );
}

function Water({ batch }: { batch: BatchAnswer }) {
  const known = Object.entries(batch.water);
  if (known.length === 0) return null;
  return (
    <dl class="facts">
      {known.map(([metric, value]) => (
        <div key={metric}>
          <dt>{labelOf(metric)}</dt>
          <dd>{Number(readNumber(metric, value, 2))}</dd>
        </div>
      ))}
    </dl>
  );
}

/** One batch: whether it matches its tank, what to do until it does, and where it went. */
export function BatchPage({ id, view }: { id: string; view: RoomView }) {
  const all = useAnswer('GET /api/batches', {});
  const match = useAnswer('GET /api/batches/:id/match', { params: { id } }, 5000);
  const batch = all.answer?.find((each) => each.id === id);

  function know(changed: BatchAnswer): void {
    all.know((all.answer ?? []).map((each) => (each.id === changed.id ? changed : each)));
    match.again();
  }

  function again(): void {
    all.again();
    match.again();
  }

  const system = view.systems.find((each) => each.id === batch?.system);
  return (
    <main class="page page-broad">
      <p class="way-back">
        <a href="#/water">New salt water</a>
      </p>
      <h2 tabIndex={-1} data-view-title>
        Batch {id} <small>{system === undefined ? '' : `for ${system.name}`}</small>
      </h2>
      <Failure text={all.failure ?? match.failure} />
      {all.answer !== undefined && batch === undefined && <p>No such batch.</p>}
      {batch !== undefined && (
        <>
          <p class="amount">
            <b>{batch.left_l.toFixed(1)} L</b> left of {batch.litres.toFixed(1)} L
          </p>
          <LeftBar batch={batch} />
          <p class="aside">
            Made {momentText(Date.parse(batch.made), view.timezone)} with {batch.salt_g.toFixed(0)} g of {batch.salt}
            {batch.measured !== null && ` · measured ${momentText(Date.parse(batch.measured), view.timezone)}`}
          </p>
          <div class="parts">
            <div class="parts">
              <section class="part" aria-labelledby="match">
                <h3 id="match">Does it match?</h3>
                {match.answer !== undefined && <Match match={match.answer} />}
                <Water batch={batch} />
                <Measure batch={batch} know={know} />
              </section>
              {batch.left_l > 0 && batch.uses.length === 0 && (
                <CorrectPart key={batch.water['salinity'] ?? 0} batch={batch} view={view} know={know} />
              )}
            </div>
            <div class="parts">
              {batch.left_l > 0 && <ChangePart batch={batch} view={view} again={again} />}
              <UsesPart batch={batch} zone={view.timezone} />
            </div>
          </div>
        </>
      )}
    </main>
  );
}
