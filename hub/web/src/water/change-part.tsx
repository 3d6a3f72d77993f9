import { useState } from 'preact/hooks';
import type { BatchAnswer, ChangePlanAnswer } from '../../../api/batches.ts';
import type { RoomView } from '../../../api/room.ts';
import { Asked, Choice, NumberField, Submit, Warnings } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import { readNumber, withUnit } from '../room/read-unit.ts';

const hints = [
  [/target/, 'target'],
  [/volume|litres/, 'volume_l'],
  [/not known|measure it first/, 'metric'],
] as const;

const metrics = ['salinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'] as const;

type Foreseen = {
  plan: ChangePlanAnswer;
  litres: number;
  /** The metric that is brought to a value, if any. */
  brought: string;
};

function Effect({ plan, litres, brought }: Foreseen) {
  const { after } = plan;
  const rows = Object.entries(plan.tank).filter(([metric]) => after?.[metric] !== undefined);
  const figure = (metric: string, value: number | undefined) =>
    value === undefined ? '' : String(Number(readNumber(metric, value, 2)));
  return (
    <div role="status">
      <p class="said">
        {plan.warnings.length === 0 ? `${litres} L keeps the tank within its bands.` : 'Read before you change:'}
      </p>
      <Warnings texts={plan.warnings} />
      {after !== null && rows.length > 0 && (
        <table>
          <thead>
            <tr>
              <th scope="col">Metric</th>
              <th scope="col">Tank</th>
              <th scope="col">New water</th>
              <th scope="col">After</th>
            </tr>
          </thead>
          <tbody>
            {rows.map(([metric, value]) => (
              <tr key={metric}>
                <th scope="row">{withUnit(metric, metric)}</th>
                <td>{figure(metric, value)}</td>
                <td>{figure(metric, plan.incoming[metric])}</td>
                <td>{figure(metric, after[metric])}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p class="aside">
        At most {plan.largest_in_a_day_l.toFixed(0)} L in a day
        {plan.limited_by === null ? '.' : `, by ${plan.limited_by}.`}
      </p>
      {plan.no_plan !== null && <p class="asked-error">{plan.no_plan}</p>}
      {plan.by_day !== null && (
        <ol class="ways-over">
          {plan.by_day.map((day, place) => (
            <li key={place}>
              {day.exchanged_l.toFixed(0)} L: from {figure(brought, day.before)} to {figure(brought, day.after)}
            </li>
          ))}
        </ol>
      )}
    </div>
  );
}

/** A water change with this batch: what it will do, and that it was done. */
export function ChangePart({ batch, view, again }: { batch: BatchAnswer; view: RoomView; again(): void }) {
  const form = useForm(
    `change.${batch.id}`,
    {
      system: batch.system,
      volume_l: '',
      metric: '',
      target: '',
      method: 'drain_then_fill',
    },
    (field, values) => (field === 'target' && values['metric'] !== '' ? values['metric'] : undefined),
  );
  const [plan, setPlan] = useState<Foreseen | undefined>(undefined);
  const [said, setSaid] = useState('');

  async function foresee(): Promise<void> {
    const check = checked(form);
    const litres = check.neededNumber('volume_l', 'Enter how many litres you change.');
    const metric = check.text('metric');
    const target =
      metric === undefined
        ? undefined
        : { metric, value: check.neededNumber('target', 'Enter the value to reach.', metric) };
    if (!check.isGood()) return;
    const body = given({
      system: form.values['system'],
      batch: batch.id,
      volume_l: litres,
      target,
      method: form.values['method'],
    });
    const told = await form.submit('POST /api/water-changes/plan', { body }, hints);
    setPlan(told === undefined ? undefined : { plan: told, litres, brought: metric ?? '' });
  }

  async function done(): Promise<void> {
    const check = checked(form);
    const volume_l = check.neededNumber('volume_l', 'Enter how many litres were changed.');
    if (!check.isGood()) return;
    const body = { system: form.values['system'], batch: batch.id, volume_l, key: form.key, by: 'page' };
    const told = await form.submit('POST /api/water-changes/done', { body }, hints);
    if (told === undefined) return;
    setSaid(`Saved: ${volume_l} L changed.`);
    setPlan(undefined);
    form.clear();
    again();
  }

  return (
    <section class="part" aria-labelledby="change">
      <h3 id="change">Use it for a water change</h3>
      <Asked label="Water change" onSend={() => void foresee()} isBusy={form.isBusy}>
        <div class="asked-row">
          <NumberField form={form} name="volume_l" label="Litres" isLarge />
          {view.systems.length > 1 && (
            <Choice
              form={form}
              name="system"
              label="In"
              options={view.systems.map(({ id, name }) => ({ id, words: name }))}
            />
          )}
        </div>
        <details>
          <summary>Spread over days, to a target</summary>
          <div class="asked-row">
            <Choice
              form={form}
              name="metric"
              label="Bring"
              options={[{ id: '', words: 'nothing' }, ...metrics.map((id) => ({ id, words: withUnit(id, id) }))]}
            />
            <NumberField form={form} name="target" label="To" />
            <Choice
              form={form}
              name="method"
              label="How"
              options={[
                { id: 'drain_then_fill', words: 'drain, then fill' },
                { id: 'continuous', words: 'both at once' },
              ]}
            />
          </div>
        </details>
        <Submit form={form} words="Preview" isQuiet />
        {plan !== undefined && <Effect {...plan} />}
        <button type="button" class="primary" onClick={() => void done()}>
          I have changed it now
        </button>
        {said !== '' && (
          <p class="said" role="status">
            {said}
          </p>
        )}
      </Asked>
    </section>
  );
}
